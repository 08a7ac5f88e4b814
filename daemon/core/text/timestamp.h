#pragma once
// Instants and days. An instant is nanoseconds since 1970-01-01T00:00Z without leap seconds (POSIX); a day is a
// proleptic Gregorian date. Time zones are the session module's business, not this file's.
#include <chrono>
#include <compare>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace brimwatch {

using Nanos = std::int64_t;  ///< a span of time, nanoseconds

constexpr Nanos kSecond = 1'000'000'000;
constexpr Nanos kMinute = 60 * kSecond;
constexpr Nanos kHour = 60 * kMinute;
constexpr Nanos kDayNanos = 24 * kHour;

struct Timestamp {
  Nanos ns = 0;  ///< 0 means "not known"; no feed lives in 1970

  constexpr auto operator<=>(const Timestamp&) const = default;
  constexpr Timestamp operator+(Nanos span) const { return {ns + span}; }
  constexpr Timestamp operator-(Nanos span) const { return {ns - span}; }
  constexpr Nanos operator-(Timestamp other) const { return ns - other.ns; }
  [[nodiscard]] constexpr bool is_set() const { return ns != 0; }
};

struct Date {
  std::int32_t days = 0;  ///< since 1970-01-01

  constexpr auto operator<=>(const Date&) const = default;
  constexpr Date operator+(int n) const { return {days + n}; }
  constexpr Date operator-(int n) const { return {days - n}; }
  constexpr int operator-(Date other) const { return days - other.days; }
  [[nodiscard]] static constexpr Date of(int year, unsigned month, unsigned day) {
    using namespace std::chrono;
    return {
        static_cast<std::int32_t>(sys_days{std::chrono::year{year} / std::chrono::month{month} / std::chrono::day{day}}
                                      .time_since_epoch()
                                      .count())};
  }
  [[nodiscard]] constexpr std::chrono::year_month_day ymd() const {
    return std::chrono::year_month_day{std::chrono::sys_days{std::chrono::days{days}}};
  }
  [[nodiscard]] constexpr std::chrono::weekday weekday() const {
    return std::chrono::weekday{std::chrono::sys_days{std::chrono::days{days}}};
  }
};

/// RFC 3339 date-time. Any number of fraction digits (those below a nanosecond are cut), 'T', 't' or a space, 'Z', 'z'
/// or an offset; second 60 is taken as the first instant of the next minute. Empty when it is anything else.
[[nodiscard]] std::optional<Timestamp> parse_rfc3339(std::string_view text);

/// YYYY-MM-DD of a day that exists.
[[nodiscard]] std::optional<Date> parse_date(std::string_view text);

[[nodiscard]] std::string to_string(Date date);

/// RFC 3339 at the given offset from UTC, e.g. 2026-11-25T10:42:07.25-05:00; trailing zeros of the fraction are left out.
[[nodiscard]] std::string to_rfc3339(Timestamp time, std::chrono::seconds offset = {});

/// hh:mm:ss at the given offset.
[[nodiscard]] std::string to_clock(Timestamp time, std::chrono::seconds offset);

}  // namespace brimwatch
