#include "adapters/guessing/fields/possible.h"

#include <algorithm>

#include "adapters/guessing/fields/evidence.h"
#include "adapters/guessing/fields/looks.h"
#include "adapters/guessing/names.h"

namespace brimwatch {
namespace {

std::string prices_move(const Behaviour& behaviour, const Table& table) {
  if (!behaviour.steps_seen) return "numbers that can be prices";
  return (table.group_count > 1 ? "within " + percent_of(behaviour.spread) + " of each other for each symbol"
                                : "within " + percent_of(behaviour.spread) + " of each other");
}

bool is_amount(const PointerColumn& column) {
  return column.numeric > 0.95 && column.truths == 0 && column.least >= 0 && !column.time;
}

std::optional<double> can_be_price(Field field, const PointerColumn& column, const Behaviour& b) {
  if (!is_amount(column) || column.most == 0) return std::nullopt;
  return column.least > 0 || field != Field::price ? b.price : 0;
}

std::optional<double> can_be_time(const PointerColumn& column, const Behaviour& b) {
  if (!column.time) return std::nullopt;
  return column.rising > 0.85 || b.rising > 0.85 || column.time == TimeFormat::rfc3339 ? 0.9 : 0.7;
}

std::optional<double> can_be_conditions(const PointerColumn& column) {
  if (column.time || column.fractions > 0 || column.truths > 0 || column.numeric * column.least > 1e6)
    return std::nullopt;
  if (are_flags(column) && name_speaks_for(Field::conditions, column.name) <= 0) return std::nullopt;
  return std::max(condition_looks(column), column.lists > 0.5 || column.distinct <= 12 ? 0.5 : 0.1);
}

std::optional<double> can_be_odd_lot(const PointerColumn& column) {
  if (column.truths > 0.9 || (column.numeric > 0.9 && column.most <= 1) || are_flags(column) ||
      are_truths_in_letters(column))
    return 0.5;
  return std::nullopt;
}

std::optional<double> can_be_id(const PointerColumn& column, const Behaviour& b) {
  if (column.time == TimeFormat::rfc3339 || column.lists > 0 || column.truths > 0) return std::nullopt;
  if (column.fractions > 0 && column.numeric > 0.5) return std::nullopt;
  return column.time ? b.id * 0.4 : b.id;
}

std::optional<double> can_be_status(const PointerColumn& column) {
  if (column.time || column.lists > 0 || column.fractions > 0 || column.distinct > 8) return std::nullopt;
  return looks_of(column).tape_word > 0.5 || column.truths > 0.9 ? 0.7 : 0.4;
}

}  // namespace

bool is_price_field(Field field) {
  return field == Field::price || field == Field::bid || field == Field::ask || field == Field::low ||
         field == Field::high || field == Field::old_price;
}

bool is_size_field(Field field) {
  return field == Field::size || field == Field::bid_size || field == Field::ask_size || field == Field::old_size;
}

bool needs_name(Field field) {
  return field == Field::exchange || field == Field::odd_lot || field == Field::old_price || field == Field::old_size ||
         field == Field::low || field == Field::high || field == Field::number || field == Field::bid ||
         field == Field::ask || field == Field::bid_size || field == Field::ask_size;
}

std::optional<double> can_be(Field field, const PointerColumn& column, const Behaviour& b) {
  if (is_price_field(field)) return can_be_price(field, column, b);
  if (is_size_field(field)) return is_amount(column) ? std::optional(b.size) : std::nullopt;
  switch (field) {
    case Field::day_volume:
      return is_amount(column) ? std::optional(b.cumulative) : std::nullopt;
    case Field::time:
      return can_be_time(column, b);
    case Field::conditions:
      return can_be_conditions(column);
    case Field::odd_lot:
      return can_be_odd_lot(column);
    case Field::exchange:
      return may_be_exchange(column) ? std::optional(0.6) : std::nullopt;
    case Field::id:
      return can_be_id(column, b);
    case Field::status:
      return can_be_status(column);
    case Field::number:
      return is_amount(column) && column.whole == 1 ? std::optional(b.id) : std::nullopt;
    default:
      return std::nullopt;
  }
}

std::string why_so(Field field, const Table& table, const PointerColumn& column, const Behaviour& b) {
  if (is_price_field(field)) return prices_move(b, table);
  if (is_size_field(field))
    return std::string(column.whole == 1 ? "whole numbers" : "numbers") + (b.steps_seen ? " that rise and fall" : "");
  if (field == Field::day_volume) return b.cumulative >= 0.6 ? "only grows for each symbol" : "whole numbers";
  if (field == Field::time) return column.rising > 0.85 ? "times, rising" : "times";
  if (field == Field::id) return column.distinct == column.given ? "no two alike" : "mostly differ";
  if (field == Field::conditions) return column.lists > 0.5 ? "lists of short codes" : "a few short codes";
  return column.distinct == 1 ? "one value" : std::to_string(column.distinct) + " different values";
}

}  // namespace brimwatch
