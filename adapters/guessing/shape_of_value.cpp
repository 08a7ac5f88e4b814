#include "adapters/guessing/shape_of_value.h"

#include <algorithm>
#include <cctype>
#include <charconv>
#include <cmath>
#include <set>

namespace brimwatch {
namespace {

constexpr double kNearlyAll = 0.95;
constexpr Timestamp kFirstTime{Date::of(2000, 1, 1).days * kDayNanos};
constexpr Timestamp kLastTime{Date::of(2045, 1, 1).days * kDayNanos};
constexpr TimeFormat kFormats[] = {TimeFormat::rfc3339, TimeFormat::seconds, TimeFormat::millis, TimeFormat::micros,
                                   TimeFormat::nanos};

bool is_given(const Leaf* leaf) { return leaf != nullptr && leaf->kind != Leaf::Kind::nothing; }

double share(std::size_t part, std::size_t whole) {
  return whole == 0 ? 0 : static_cast<double>(part) / static_cast<double>(whole);
}

void count_kinds(PointerColumn& column) {
  std::size_t texts = 0, numbers = 0, numeric = 0, whole = 0, truths = 0, lists = 0, fractions = 0, points = 0,
              symbols = 0;
  std::set<std::string> distinct;
  for (const Leaf* leaf : column.cells) {
    if (!is_given(leaf)) continue;
    ++column.given;
    texts += leaf->kind == Leaf::Kind::text;
    numbers += leaf->kind == Leaf::Kind::number;
    truths += leaf->kind == Leaf::Kind::truth;
    lists += leaf->kind == Leaf::Kind::list;
    std::string value = leaf->text;
    for (const std::string& item : leaf->items) value += "," + item;
    distinct.insert(value);
    symbols += leaf->kind == Leaf::Kind::text && looks_like_symbol(leaf->text);
    const auto number = leaf->kind == Leaf::Kind::truth ? std::nullopt : number_in(leaf->text);
    if (!number) continue;
    ++numeric;
    const bool fraction = *number != std::floor(*number);
    whole += !fraction;
    fractions += fraction;
    points += leaf->text.find('.') != std::string::npos;
  }
  column.present = share(column.given, column.cells.size());
  column.texts = share(texts, column.given);
  column.numbers = share(numbers, column.given);
  column.numeric = share(numeric, column.given);
  column.whole = share(whole, column.given);
  column.truths = share(truths, column.given);
  column.lists = share(lists, column.given);
  column.symbols = share(symbols, column.given);
  column.fractions = share(fractions, numeric);
  column.points = share(points, numeric);
  column.distinct = distinct.size();
}

void measure_steps(PointerColumn& column) {
  std::optional<double> last;
  std::size_t steps = 0, rising = 0, climbing = 0, by_one = 0;
  bool first = true;
  for (const Leaf* leaf : column.cells) {
    const auto number = is_given(leaf) ? number_in(leaf->text) : std::nullopt;
    if (!number) continue;
    column.least = first ? *number : std::min(column.least, *number);
    column.most = first ? *number : std::max(column.most, *number);
    first = false;
    if (last) {
      ++steps;
      rising += *number >= *last;
      climbing += *number > *last;
      by_one += *number == *last + 1;
    }
    last = number;
  }
  column.rising = share(rising, steps);
  column.climbing = share(climbing, steps);
  column.by_one = share(by_one, steps);
}

bool fits_time(const PointerColumn& column, TimeFormat format) {
  std::size_t good = 0;
  for (const Leaf* leaf : column.cells) {
    if (!is_given(leaf)) continue;
    const auto time = time_in(leaf->text, format);
    good += time && *time >= kFirstTime && *time < kLastTime;
  }
  return column.given > 0 && share(good, column.given) >= kNearlyAll;
}

void find_time(PointerColumn& column) {
  for (const TimeFormat format : kFormats) {
    const bool number = format != TimeFormat::rfc3339;
    if (column.truths > 0 || column.lists > 0 || (number && column.numeric < kNearlyAll)) continue;
    if (!fits_time(column, format)) continue;
    column.time = format;
    column.zoneless = !number && std::none_of(column.cells.begin(), column.cells.end(), [](const Leaf* leaf) {
      return is_given(leaf) && parse_time(leaf->text, TimeFormat::rfc3339);
    });
    return;
  }
}

bool is_digit(char c) { return c >= '0' && c <= '9'; }

/// "10:31:02", with or without a fraction.
bool is_clock_text(std::string_view text) {
  constexpr std::string_view kForm = "00:00:00";
  if (text.size() < kForm.size() || text.size() > kForm.size() + 10) return false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const bool good =
        i < kForm.size() && kForm[i] == ':' ? text[i] == ':' : is_digit(text[i]) || (i == 8 && text[i] == '.');
    if (!good) return false;
  }
  return true;
}

/// Since midnight, from four in the morning to eight in the evening: seconds with a fraction, or a finer unit.
void find_clock(PointerColumn& column) {
  if (column.time || column.given == 0 || column.truths > 0 || column.lists > 0) return;
  const auto clocks = std::count_if(column.cells.begin(), column.cells.end(),
                                    [](const Leaf* leaf) { return is_given(leaf) && is_clock_text(leaf->text); });
  if (static_cast<std::size_t>(clocks) == column.given) return void(column.clock = true);
  if (column.numeric < 1 || column.rising < kNearlyAll || column.given < 3 || column.is_constant()) return;
  constexpr double kFirst = 4 * 3600.0, kLast = 20 * 3600.0;
  for (const double unit : {1.0, 1e3, 1e6, 1e9}) {
    if (column.least < kFirst * unit || column.most > kLast * unit) continue;
    column.clock = unit > 1e3 || column.fractions > 0.5;
    column.maybe_clock = !column.clock;
  }
}

}  // namespace

std::optional<double> number_in(std::string_view text) {
  double out = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), out);
  const bool good = error == std::errc() && end == text.data() + text.size() && !text.empty() && std::isfinite(out);
  return good ? std::optional(out) : std::nullopt;
}

std::optional<Timestamp> time_in(std::string_view text, TimeFormat format) {
  static const std::vector<ZoneShift> kUtc{{Timestamp{0}, std::chrono::seconds(0)}};
  return parse_time(text, format, kUtc);
}

bool looks_like_symbol(std::string_view text) {
  if (text.empty() || text.size() > 80) return false;
  const bool odd = std::any_of(text.begin(), text.end(), [](unsigned char c) {
    return std::isalnum(c) == 0 && std::string_view(".-/:@_=+^|").find(static_cast<char>(c)) == std::string_view::npos;
  });
  const auto letters = std::count_if(text.begin(), text.end(), [](unsigned char c) { return std::isalpha(c) != 0; });
  const auto digits = std::count_if(text.begin(), text.end(), [](unsigned char c) { return std::isdigit(c) != 0; });
  return !odd && letters > 0 && digits <= 4;
}

void measure(PointerColumn& column) {
  count_kinds(column);
  measure_steps(column);
  find_time(column);
  find_clock(column);
}

}  // namespace brimwatch
