#include "adapters/guessing/kinds/needs.h"

#include <algorithm>

namespace brimwatch {
namespace {

bool is_sure(const FieldGuesses& fields, Field field) {
  const auto found = fields.find(field);
  return found != fields.end() && found->second.sure == Sure::sure;
}

double both(const FieldGuesses& fields, Field a, Field b) {
  if (!has_field(fields, a) || !has_field(fields, b)) return 0;
  return 0.5 + 0.2 * is_sure(fields, a) + 0.2 * is_sure(fields, b);
}

/// Bars begin at whole minutes; trades do so by chance only.
bool is_on_minutes(const Table& table, const FieldGuesses& fields) {
  const auto time = fields.find(Field::time);
  const PointerColumn* column = time == fields.end() ? nullptr : table.find(time->second.pointer);
  if (column == nullptr || !column->time) return false;
  return std::all_of(column->cells.begin(), column->cells.end(), [&](const Leaf* leaf) {
    const auto at = leaf == nullptr ? std::nullopt : time_in(leaf->text, *column->time);
    return !at || at->ns % kMinute == 0;
  });
}

}  // namespace

bool has_field(const FieldGuesses& fields, Field field) { return fields.count(field) != 0; }

double found_of(MessageKind kind, const FieldGuesses& fields) {
  if (!has_field(fields, Field::symbol)) return 0;
  const double quote = both(fields, Field::bid, Field::ask);
  switch (kind) {
    case MessageKind::trade:
      return has_field(fields, Field::price) ? std::max(both(fields, Field::price, Field::size), 0.35) : 0;
    case MessageKind::quote:
      return quote == 0 ? 0 : quote + 0.1;
    case MessageKind::bar:
      return has_field(fields, Field::price)
                 ? (both(fields, Field::low, Field::high) > 0 ? both(fields, Field::low, Field::high) + 0.2 : 0)
                 : 0;
    case MessageKind::day:
      return has_field(fields, Field::price) && has_field(fields, Field::day_volume)
                 ? 0.45 + 0.1 * is_sure(fields, Field::day_volume) + (quote > 0 ? 0.7 : 0)
                 : 0;
    case MessageKind::status:
      return has_field(fields, Field::status) ? 0.55 : 0;
    default:
      return 0;
  }
}

bool is_range_of_day(const Table& table, const FieldGuesses& fields) {
  constexpr std::size_t kStepsLeast = 8;
  const auto moves = [&](Field field) {
    const auto found = fields.find(field);
    return found == fields.end() ? Steps{} : steps_of(table, *table.find(found->second.pointer));
  };
  const Steps lows = moves(Field::low), highs = moves(Field::high), prices = moves(Field::price);
  if (lows.all < kStepsLeast || highs.all < kStepsLeast || lows.up > 0 || highs.down > 0) return false;
  if (prices.up == 0 || prices.down == 0 || is_on_minutes(table, fields)) return false;
  const Steps sizes = moves(Field::size);
  return fields.count(Field::size) == 0 || (sizes.up > 0 && sizes.down > 0);
}

bool is_proved_by_total(const FieldGuesses& fields) {
  const auto total = fields.find(Field::day_volume);
  return total != fields.end() && has_field(fields, Field::size) && total->second.why.starts_with("rises by");
}

}  // namespace brimwatch
