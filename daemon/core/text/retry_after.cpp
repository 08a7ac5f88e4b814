#include "core/text/retry_after.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cstdio>
#include <string>

namespace brimwatch {
namespace {

struct DateParts {
  int year = 0;
  unsigned day = 0;
  char month[4] = {};
  int hour = 0, minute = 0, second = 0;
};

std::optional<unsigned> month_of(std::string_view name) {
  constexpr std::array<std::string_view, 12> kMonths{"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                     "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  const auto found = std::find(kMonths.begin(), kMonths.end(), name);
  if (found == kMonths.end()) return std::nullopt;
  return static_cast<unsigned>(found - kMonths.begin()) + 1;
}

/// A year of two digits is in this century unless that is more than 50 years ahead (RFC 9110, section 5.6.7).
int full_year(int two_digits, Timestamp now) {
  const Date today{static_cast<std::int32_t>(now.ns / kDayNanos)};
  const int this_year = static_cast<int>(today.ymd().year());
  const int year = this_year / 100 * 100 + two_digits;
  return year > this_year + 50 ? year - 100 : year;
}

bool read_parts(const std::string& text, Timestamp now, DateParts& out) {
  char weekday[10];
  int used = 0;
  const auto whole = [&] { return used == static_cast<int>(text.size()); };
  if (std::sscanf(text.c_str(), "%3[A-Za-z], %2u %3s %4d %2d:%2d:%2d GMT%n", weekday, &out.day, out.month, &out.year,
                  &out.hour, &out.minute, &out.second, &used) == 7 &&
      whole()) {
    return true;
  }
  used = 0;
  if (std::sscanf(text.c_str(), "%9[A-Za-z], %2u-%3[A-Za-z]-%2d %2d:%2d:%2d GMT%n", weekday, &out.day, out.month,
                  &out.year, &out.hour, &out.minute, &out.second, &used) == 7 &&
      whole()) {
    out.year = full_year(out.year, now);
    return true;
  }
  used = 0;
  return std::sscanf(text.c_str(), "%3[A-Za-z] %3s %2u %2d:%2d:%2d %4d%n", weekday, out.month, &out.day, &out.hour,
                     &out.minute, &out.second, &out.year, &used) == 7 &&
         whole();
}

/// A field's value without the blanks around it and the line's end (RFC 9110, section 5.5).
std::string_view trimmed(std::string_view value) {
  constexpr std::string_view kAround = " \t\r\n";
  const std::size_t start = std::min(value.find_first_not_of(kAround), value.size());
  value.remove_prefix(start);
  return value.substr(0, value.find_last_not_of(kAround) + 1);
}

}  // namespace

std::optional<Timestamp> parse_http_date(std::string_view text, Timestamp now) {
  DateParts parts;
  if (text.size() > 40 || !read_parts(std::string(text), now, parts)) return std::nullopt;
  const auto month = month_of(parts.month);
  if (!month || parts.hour < 0 || parts.hour > 23 || parts.minute < 0 || parts.minute > 59 || parts.second < 0 ||
      parts.second > 60) {
    return std::nullopt;
  }
  const std::chrono::year_month_day ymd{std::chrono::year{parts.year}, std::chrono::month{*month},
                                        std::chrono::day{parts.day}};
  if (!ymd.ok() || parts.year < 1700 || parts.year > 2250) return std::nullopt;
  const Date date = Date::of(parts.year, *month, parts.day);
  return Timestamp{date.days * kDayNanos + parts.hour * kHour + parts.minute * kMinute + parts.second * kSecond};
}

std::optional<std::chrono::seconds> parse_retry_after(std::string_view value, Timestamp now) {
  constexpr std::int64_t kMost = 86'400;
  value = trimmed(value);
  const bool digits =
      !value.empty() && std::all_of(value.begin(), value.end(), [](char c) { return c >= '0' && c <= '9'; });
  if (digits) {
    std::int64_t seconds = kMost;
    (void)std::from_chars(value.data(), value.data() + value.size(), seconds);  // what does not fit stays a day
    return std::chrono::seconds(std::min(seconds, kMost));
  }
  const auto date = parse_http_date(value, now);
  if (!date) return std::nullopt;
  if (*date <= now) return std::chrono::seconds(0);  // and no difference is formed with a date of long ago
  const Nanos ahead = *date - now;
  return std::chrono::seconds(std::clamp<std::int64_t>((ahead + kSecond - 1) / kSecond, 0, kMost));
}

}  // namespace brimwatch
