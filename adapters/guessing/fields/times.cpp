#include "adapters/guessing/fields/times.h"

#include <algorithm>

#include "adapters/guessing/names.h"

namespace brimwatch {
namespace {

/// Around an object stand the values of the objects that it is in, and those around all messages of a frame.
bool stands_around(std::string_view pointer, std::string_view object) {
  constexpr std::string_view kFrame = "frame:";
  if (pointer.starts_with(kFrame)) return !object.starts_with(kFrame);
  const std::string_view own = object_of(pointer);
  return own.size() < object.size() && object.starts_with(own) && object[own.size()] == '/';
}

/// The unit that a column's times are whole in, in nanoseconds.
std::int64_t unit_of(const PointerColumn& column) {
  std::int64_t unit = kSecond;
  for (const Leaf* leaf : column.cells) {
    const auto at = leaf == nullptr ? std::nullopt : time_in(leaf->text, *column.time);
    while (at && unit > 1 && at->ns % unit != 0) unit /= 1000;
  }
  return unit;
}

}  // namespace

std::string_view object_of(std::string_view pointer) { return pointer.substr(0, pointer.rfind('/')); }

TimesOfMessage::TimesOfMessage(const FieldsInHand& hand) : hand_(hand), table_(hand.table) {
  for (const PointerColumn& column : table_.columns) units_.push_back(column.time ? unit_of(column) : kSecond);
}

bool TimesOfMessage::is_clock(const PointerColumn& column) const {
  if (column.clock || !column.maybe_clock) return column.clock;
  const bool other = std::any_of(table_.columns.begin(), table_.columns.end(),
                                 [](const PointerColumn& one) { return one.time.has_value(); });
  return !other && name_speaks_for(Field::time, column.name) >= 0.8;
}

bool TimesOfMessage::has_earlier(std::size_t number) const {
  for (std::size_t i = 0; i < table_.columns.size(); ++i) {
    const PointerColumn& other = table_.columns[i];
    if (i == number || !other.time || other.is_constant() || other.present < 0.5) continue;
    if (is_earlier(i, number)) return true;
  }
  return false;
}

bool TimesOfMessage::is_earlier(std::size_t one, std::size_t than) const {
  const Order order = order_of(one, than);
  return order.judged > 0 && 2 * order.before > order.judged && order.after == 0;
}

bool TimesOfMessage::has_time_in_row(std::size_t number, std::string_view row) const {
  if (!stands_around(table_.columns[number].pointer, row)) return false;
  for (std::size_t i = 0; i < table_.columns.size(); ++i) {
    const PointerColumn& other = table_.columns[i];
    if (!other.time || other.is_constant() || other.present < 0.5 || !hand_.is_free(i)) continue;
    if (object_of(other.pointer) != row || is_earlier(number, i)) continue;
    const double name = name_speaks_for(Field::time, other.name);
    const Order order = order_of(i, number);
    const bool near = order.judged > 0 && 10 * order.near >= 9 * order.judged;
    if (near && (name > 0.5 || (name >= 0 && is_earlier(i, number)))) return true;
  }
  return false;
}

double TimesOfMessage::fineness(std::size_t number) const {
  constexpr double kStep = 0.004;
  double out = 0;
  for (std::int64_t unit = units_[number]; unit < kSecond; unit *= 1000) out += kStep;
  return out;
}

TimesOfMessage::Order TimesOfMessage::order_of(std::size_t one, std::size_t another) const {
  const PointerColumn &other = table_.columns[one], &column = table_.columns[another];
  const std::int64_t unit = std::max(units_[one], units_[another]);
  Order out;
  for (std::size_t i = 0; i < column.cells.size(); ++i) {
    const auto a = other.cells[i] == nullptr ? std::nullopt : time_in(other.cells[i]->text, *other.time);
    const auto b = column.cells[i] == nullptr ? std::nullopt : time_in(column.cells[i]->text, *column.time);
    if (!a || !b) continue;
    const std::int64_t apart = b->ns / unit - a->ns / unit, hour = kHour / unit;
    ++out.judged;
    out.before += apart > 0 && apart < hour;
    out.after += apart < 0;
    out.near += apart < hour && -apart < hour;
  }
  return out;
}

}  // namespace brimwatch
