#include "bars/daily_fields.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <string>

#include "core/daily.h"
#include "core/shares.h"
#include "core/text/grouped_number.h"

namespace brimwatch {
namespace {

constexpr std::array<std::string_view, 12> kMonths = {"jan", "feb", "mar", "apr", "may", "jun",
                                                      "jul", "aug", "sep", "oct", "nov", "dec"};

bool is_digit(char c) { return c >= '0' && c <= '9'; }

bool all_digits(std::string_view text) {
  for (const char c : text) {
    if (!is_digit(c)) return false;
  }
  return !text.empty();
}

std::optional<Date> date_of(int year, int month, int day) {
  const std::chrono::year_month_day date{std::chrono::year{year}, std::chrono::month{static_cast<unsigned>(month)},
                                         std::chrono::day{static_cast<unsigned>(day)}};
  if (year < 1800 || year > 2200 || !date.ok()) return std::nullopt;
  return Date::of(year, static_cast<unsigned>(month), static_cast<unsigned>(day));
}

/// Since 1970, told by how large it is: seconds until the year 5138 are below a hundred thousand million.
std::optional<Date> day_of_instant(std::string_view digits) {
  std::int64_t count = 0;
  if (std::from_chars(digits.data(), digits.data() + digits.size(), count).ec != std::errc()) return std::nullopt;
  constexpr std::int64_t kDaySeconds = 86'400;
  std::int64_t seconds = count;
  while (seconds >= 100'000'000'000) seconds /= 1000;
  return Date{static_cast<std::int32_t>(seconds / kDaySeconds)};
}

struct Parts {
  std::array<int, 3> number{};
  int count = 0, month = 0, month_at = -1;
};

/// The numbers of a written day, and the month where it is a word.
bool take_parts(std::string_view text, Parts& parts) {
  for (std::size_t at = 0; at < text.size();) {
    if (is_digit(text[at])) {
      if (parts.count == 3) return false;
      int value = 0;
      for (; at < text.size() && is_digit(text[at]); ++at) value = std::min(value * 10 + (text[at] - '0'), 99'999);
      parts.number[static_cast<std::size_t>(parts.count++)] = value;
    } else if ((text[at] | 32) >= 'a' && (text[at] | 32) <= 'z') {
      std::string word;
      for (; at < text.size() && (text[at] | 32) >= 'a' && (text[at] | 32) <= 'z'; ++at)
        word += static_cast<char>(text[at] | 32);
      for (std::size_t i = 0; i < kMonths.size() && parts.month == 0; ++i)
        if (word.starts_with(kMonths[i])) parts.month = static_cast<int>(i) + 1;
      if (parts.month == 0) return false;
      parts.month_at = parts.count;
    } else if (std::string_view("/.-, ").find(text[at]) != std::string_view::npos) {
      ++at;
    } else {
      return false;
    }
  }
  return true;
}

int whole_year(int year) { return year < 100 ? 2000 + year : year; }

std::optional<Date> written_day(std::string_view text, DayOrder order) {
  Parts parts;
  if (!take_parts(text, parts)) return std::nullopt;
  const auto& n = parts.number;
  if (parts.month > 0 && parts.count == 2)
    return n[0] > 31 ? date_of(n[0], parts.month, n[1]) : date_of(whole_year(n[1]), parts.month, n[0]);
  if (parts.month > 0 || parts.count != 3) return std::nullopt;
  if (n[0] > 31) return date_of(n[0], n[1], n[2]);
  if (order == DayOrder::year_first) return std::nullopt;
  const int year = whole_year(n[2]);
  return order == DayOrder::day_first ? date_of(year, n[1], n[0]) : date_of(year, n[0], n[1]);
}

/// With a point for the decimal comma, and without what parts thousands.
std::string with_point(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c == '.' || c == ' ') continue;
    out += c == ',' ? '.' : c;
  }
  return out;
}

bool fits(Price price, DailyRows rows) { return price.micros > 0 || (price.micros == 0 && rows == DailyRows::every); }

std::string_view without_currency(std::string_view text) {
  for (const std::string_view sign : {"$", "\xE2\x82\xAC", "\xC2\xA3", "\xC2\xA5"}) {
    if (text.starts_with(sign)) text.remove_prefix(sign.size());
  }
  return text;
}

}  // namespace

std::optional<Date> read_daily_date(std::string_view text, DayOrder order) {
  if (const auto plain = parse_date(text)) return plain;
  if (text.size() > 10 && (text[10] == ' ' || text[10] == 'T') && text[4] == '-') return parse_date(text.substr(0, 10));
  if (text.size() == 8 && all_digits(text)) {
    const auto number = [&](std::size_t from, std::size_t size) {
      int value = 0;
      std::from_chars(text.data() + from, text.data() + from + size, value);
      return value;
    };
    return date_of(number(0, 4), number(4, 2), number(6, 2));
  }
  if (text.size() > 8 && text.size() < 20 && all_digits(text)) return day_of_instant(text);
  const std::size_t clock = text.find(':');  // 25.11.2026 16:00
  if (clock != std::string_view::npos) text = text.substr(0, text.substr(0, clock).find_last_of(" T"));
  return written_day(text, order);
}

std::optional<double> read_plain_number(std::string_view text) {
  if (const auto micros = parse_micros(text, Extra::drop)) return static_cast<double>(*micros) / 1e6;
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size() || !std::isfinite(value)) return std::nullopt;
  return value;
}

namespace {

/// A plain number, or one with commas between thousands.
double read_whole_volume(std::string_view text, const DailyLayout& layout) {
  if (layout.decimal_comma && text.find_first_of(",.") != std::string_view::npos)
    return read_plain_number(with_point(text)).value_or(-1);
  if (const auto plain = read_plain_number(text)) return *plain >= 0 ? *plain : -1;
  const auto ungrouped = ungrouped_count(text);
  const auto read = ungrouped ? read_plain_number(*ungrouped) : std::nullopt;
  return read && *read >= 0 ? *read : -1;
}

/// "1.34M", as sources show it to people: rounded, and a volume all the same.
double read_brief_volume(std::string_view text, const DailyLayout& layout) {
  constexpr std::string_view kUnits = "kKmMbB";
  if (text.empty() || kUnits.find(text.back()) == std::string_view::npos) return -1;
  const auto shares = parse_brief_shares(layout.decimal_comma ? with_point(text) : std::string(text));
  return shares ? shares->as_double() : -1;
}

/// Commas for the blanks (plain, unbroken, narrow) and apostrophes that part thousands in some countries.
std::string with_commas(std::string_view text) {
  constexpr std::string_view kParting[] = {" ", "'", "\xC2\xA0", "\xE2\x80\xAF", "\xE2\x80\x99"};
  std::string out;
  while (!text.empty()) {
    std::size_t size = 0;
    for (const std::string_view sign : kParting) size = text.starts_with(sign) ? sign.size() : size;
    out += size > 0 ? ',' : text.front();
    text.remove_prefix(std::max<std::size_t>(size, 1));
  }
  return out;
}

}  // namespace

double read_daily_volume(std::string_view text, const DailyLayout& layout) {
  double volume = read_whole_volume(text, layout);
  if (volume < 0) volume = read_brief_volume(text, layout);
  if (volume >= 0 || text.find(',') != std::string_view::npos) return volume;
  const auto ungrouped = ungrouped_count(with_commas(text));
  return ungrouped ? read_whole_volume(*ungrouped, layout) : -1;
}

bool read_daily_price(std::string_view text, const DailyLayout& layout, DailyRows rows, Price& price) {
  if (const auto micros = parse_micros(text, Extra::drop)) {
    price.micros = *micros;
  } else {
    text = without_currency(text);
    const auto ungrouped = layout.decimal_comma ? std::optional(with_point(text)) : ungrouped_price(text);
    price = parse_price(ungrouped ? std::string_view(*ungrouped) : text, Extra::drop).value_or(Price{-1});
  }
  if (!fits(price, rows)) return false;
  price = without_float_noise(price);
  return true;
}

std::optional<double> read_split(std::string_view text) {
  const std::size_t between = text.find_first_of(":/f");
  const auto trim = [](std::string_view part) {
    while (!part.empty() && !is_digit(part.front()) && part.front() != '.') part.remove_prefix(1);
    while (!part.empty() && !is_digit(part.back())) part.remove_suffix(1);
    return part;
  };
  const auto over = read_plain_number(between == std::string_view::npos ? text : trim(text.substr(0, between)));
  const auto under =
      between == std::string_view::npos ? std::optional(1.0) : read_plain_number(trim(text.substr(between)));
  if (!over || !under || *over <= 0 || *under <= 0 || *over == *under) return std::nullopt;
  return *over / *under;
}

}  // namespace brimwatch
