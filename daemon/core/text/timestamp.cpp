#include "core/text/timestamp.h"

#include <cstdio>

namespace brimwatch {
namespace {

/// Reads exactly `count` digits at `at`; -1 when there are others.
int digits(std::string_view text, std::size_t at, std::size_t count) {
  if (text.size() < at + count) return -1;
  int value = 0;
  for (std::size_t i = at; i < at + count; ++i) {
    if (text[i] < '0' || text[i] > '9') return -1;
    value = value * 10 + (text[i] - '0');
  }
  return value;
}

/// Seconds east of UTC from "Z" or "+hh:mm"; the text must be nothing else.
std::optional<int> offset_seconds(std::string_view text) {
  if (text == "Z" || text == "z") return 0;
  if (text.size() != 6 || (text[0] != '+' && text[0] != '-') || text[3] != ':') return std::nullopt;
  const int hours = digits(text, 1, 2);
  const int minutes = digits(text, 4, 2);
  if (hours < 0 || hours > 23 || minutes < 0 || minutes > 59) return std::nullopt;
  const int seconds = hours * 3600 + minutes * 60;
  return text[0] == '-' ? -seconds : seconds;
}

struct Clock {
  int hour, minute, second;
  Nanos fraction;
};

Clock clock_of(Timestamp time, std::chrono::seconds offset, Date& day) {
  const Nanos local = time.ns + offset.count() * kSecond;
  Nanos days = local / kDayNanos;
  if (local % kDayNanos < 0) --days;
  day = Date{static_cast<std::int32_t>(days)};
  const Nanos rest = local - days * kDayNanos;
  return {static_cast<int>(rest / kHour), static_cast<int>(rest / kMinute % 60), static_cast<int>(rest / kSecond % 60),
          rest % kSecond};
}

}  // namespace

std::optional<Date> parse_date(std::string_view text) {
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return std::nullopt;
  const int year = digits(text, 0, 4);
  const int month = digits(text, 5, 2);
  const int day = digits(text, 8, 2);
  if (year < 1 || month < 1 || day < 1) return std::nullopt;
  const auto ymd = std::chrono::year{year} / std::chrono::month{static_cast<unsigned>(month)} /
                   std::chrono::day{static_cast<unsigned>(day)};
  if (!ymd.ok()) return std::nullopt;
  return Date::of(year, static_cast<unsigned>(month), static_cast<unsigned>(day));
}

std::optional<Timestamp> parse_rfc3339(std::string_view text) {
  if (text.size() < 20 || (text[10] != 'T' && text[10] != 't' && text[10] != ' ')) return std::nullopt;
  const auto date = parse_date(text.substr(0, 10));
  const int hour = digits(text, 11, 2);
  const int minute = digits(text, 14, 2);
  const int second = digits(text, 17, 2);
  if (!date || text[13] != ':' || text[16] != ':') return std::nullopt;
  if (hour < 0 || hour > 23 || minute < 0 || minute > 59 || second < 0 || second > 60) return std::nullopt;
  std::size_t at = 19;
  Nanos fraction = 0;
  if (text[at] == '.') {
    Nanos unit = kSecond / 10;
    const std::size_t first = ++at;
    for (; at < text.size() && text[at] >= '0' && text[at] <= '9'; ++at, unit /= 10) fraction += unit * (text[at] - '0');
    if (at == first) return std::nullopt;
  }
  const auto offset = offset_seconds(text.substr(at));
  if (!offset) return std::nullopt;
  if (date->days < -106'000 || date->days > 106'000) return std::nullopt;  // beyond what 64-bit nanoseconds can hold
  return Timestamp{date->days * kDayNanos + hour * kHour + minute * kMinute + (second - *offset) * kSecond + fraction};
}

std::string to_string(Date date) {
  const auto ymd = date.ymd();
  char text[16];
  std::snprintf(text, sizeof text, "%04d-%02u-%02u", static_cast<int>(ymd.year()) % 10000,
                static_cast<unsigned>(ymd.month()), static_cast<unsigned>(ymd.day()));
  return text;
}

std::string to_rfc3339(Timestamp time, std::chrono::seconds offset) {
  Date day;
  const Clock clock = clock_of(time, offset, day);
  char text[48];
  std::snprintf(text, sizeof text, "%sT%02d:%02d:%02d", to_string(day).c_str(), clock.hour, clock.minute, clock.second);
  std::string out = text;
  if (clock.fraction != 0) {
    std::snprintf(text, sizeof text, ".%09lld", static_cast<long long>(clock.fraction));
    out += text;
    while (out.back() == '0') out.pop_back();
  }
  if (offset.count() == 0) return out + "Z";
  const long long size = offset.count() < 0 ? -offset.count() : offset.count();
  std::snprintf(text, sizeof text, "%c%02lld:%02lld", offset.count() < 0 ? '-' : '+', size / 3600, size / 60 % 60);
  return out + text;
}

std::string to_clock(Timestamp time, std::chrono::seconds offset) {
  Date day;
  const Clock clock = clock_of(time, offset, day);
  char text[40];
  std::snprintf(text, sizeof text, "%02d:%02d:%02d", clock.hour, clock.minute, clock.second);
  return text;
}

}  // namespace brimwatch
