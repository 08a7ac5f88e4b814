#include "volume/learning/bar_time.h"

#include <algorithm>
#include <charconv>

namespace brimwatch {
namespace {

bool all_digits(std::string_view text) {
  return !text.empty() && std::all_of(text.begin(), text.end(), [](char c) { return c >= '0' && c <= '9'; });
}

/// -1 where it is not a number of at most four digits.
int small_number(std::string_view text) {
  if (!all_digits(text) || text.size() > 4) return -1;
  int value = 0;
  for (const char c : text) value = value * 10 + (c - '0');
  return value;
}

std::optional<Date> date_of(int year, int month, int day) {
  const auto ymd = std::chrono::year{year} / std::chrono::month{static_cast<unsigned>(month)} /
                   std::chrono::day{static_cast<unsigned>(day)};
  if (year < 1800 || month < 1 || day < 1 || !ymd.ok()) return std::nullopt;
  return Date::of(year, static_cast<unsigned>(month), static_cast<unsigned>(day));
}

std::optional<BarStamp> from_epoch(std::string_view text) {
  std::int64_t count = 0;
  if (std::from_chars(text.data(), text.data() + text.size(), count).ec != std::errc()) return std::nullopt;
  std::int64_t seconds = count;
  for (std::size_t digits = text.size(); digits > 10; --digits) seconds /= 10;
  if (seconds < 0 || seconds > 8'000'000'000) return std::nullopt;
  return BarStamp{Date{static_cast<std::int32_t>(seconds / 86'400)}, static_cast<int>(seconds % 86'400 / 60), true, {}};
}

void trim_end(std::string_view& text) {
  while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
}

/// Takes "Z", "UTC" or "+hh:mm", "-hhmm", "-hh" off the end of a time of day; minutes east of UTC.
std::optional<int> take_offset(std::string_view& text) {
  struct Zone {
    std::string_view name;
    int hours;
  };
  for (const Zone& zone : {Zone{"Z", 0}, {"z", 0}, {"UTC", 0}, {"GMT", 0}, {"EST", -5}, {"EDT", -4}}) {
    if (text.ends_with(zone.name)) return text.remove_suffix(zone.name.size()), trim_end(text), 60 * zone.hours;
  }
  const std::size_t sign = text.find_first_of("+-");
  if (sign == std::string_view::npos) return std::nullopt;
  const std::string_view offset = text.substr(sign + 1);
  const int hours = offset.size() == 2 ? small_number(offset) : -1;
  const auto minutes = hours >= 0 && hours <= 14 ? std::optional<int>(hours * 60) : parse_clock(offset);
  if (!minutes) return std::nullopt;
  const int east = text[sign] == '-' ? -*minutes : *minutes;
  text = text.substr(0, sign);
  if (text.ends_with("UTC") || text.ends_with("GMT")) text.remove_suffix(3);
  trim_end(text);
  return east;
}

/// Takes the name of a zone, such as US/Eastern or [America/New_York], off the end of a stamp; empty where there is none.
std::string_view take_zone(std::string_view& text) {
  const std::size_t slash = text.rfind('/');
  const std::size_t start = text.find_last_of(" [");
  if (slash == std::string_view::npos || start == std::string_view::npos || slash < start) return {};
  std::string_view zone = text.substr(start + 1);
  if (text[start] == '[' && zone.back() == ']') zone.remove_suffix(1);
  const std::size_t letters = zone.find_first_of("ABCDEFGHIJKLMNOPQRSTUVWXYZ");
  if (letters != 0) return {};
  text = text.substr(0, start);
  trim_end(text);
  return zone;
}

BarStamp in_utc(Date day, int minute, int east) {
  int utc = minute - east;
  for (; utc < 0; utc += 1440) day = day - 1;
  for (; utc >= 1440; utc -= 1440) day = day + 1;
  return {day, utc, true, {}};
}

}  // namespace

namespace {

/// Takes "AM" or "PM" off the end of a time of day: 0, 12, or -1 where there is neither.
int take_half(std::string_view& text) {
  if (text.size() < 3) return -1;
  const auto upper = [](char c) { return c >= 'a' && c <= 'z' ? static_cast<char>(c - 32) : c; };
  const char half = upper(text[text.size() - 2]);
  if (upper(text.back()) != 'M' || (half != 'A' && half != 'P')) return -1;
  text.remove_suffix(2);
  trim_end(text);
  return half == 'P' ? 12 : 0;
}

/// What may follow hours and minutes: nothing, or seconds with or without a fraction. Anything else, such as a zone that
/// is not known here, must not go unread.
bool is_seconds(std::string_view text) {
  if (text.empty()) return true;
  const std::string_view fraction = text.substr(std::min<std::size_t>(text.size(), 3));
  const int seconds = text[0] == ':' ? small_number(text.substr(1, 2)) : -1;
  if (seconds < 0 || seconds > 60) return false;
  return fraction.empty() || ((fraction[0] == '.' || fraction[0] == ',') && all_digits(fraction.substr(1)));
}

}  // namespace

std::optional<int> parse_clock(std::string_view text) {
  int hour = -1, minute = -1;
  const int half = take_half(text);
  if (const std::size_t colon = text.find(':'); colon != std::string_view::npos) {
    hour = small_number(text.substr(0, colon));
    minute = small_number(text.substr(colon + 1, 2));
    if (!is_seconds(text.substr(std::min(text.size(), colon + 3)))) return std::nullopt;
  } else if (all_digits(text) && text.size() >= 3 && text.size() <= 6) {
    const std::size_t hours = text.size() % 2 == 0 ? 2 : 1;
    hour = small_number(text.substr(0, hours));
    minute = small_number(text.substr(hours, 2));
  }
  if (hour < 0 || hour > 23 || minute < 0 || minute > 59) return std::nullopt;
  if (half >= 0 && (hour < 1 || hour > 12)) return std::nullopt;
  return (half >= 0 ? hour % 12 + half : hour) * 60 + minute;
}

namespace {

std::optional<Date> parse_spelling(std::string_view text) {
  if (text.size() == 10 && text[4] == '-') return parse_date(text);
  if (text.size() == 8 && all_digits(text)) {
    return date_of(small_number(text.substr(0, 4)), small_number(text.substr(4, 2)), small_number(text.substr(6, 2)));
  }
  const std::size_t first = text.find('/');
  if (first == std::string_view::npos) return std::nullopt;
  const std::size_t second = text.find('/', first + 1);
  if (second == std::string_view::npos) return std::nullopt;
  const std::string_view a = text.substr(0, first), b = text.substr(first + 1, second - first - 1),
                         c = text.substr(second + 1);
  return a.size() == 4 ? date_of(small_number(a), small_number(b), small_number(c))
                       : date_of(small_number(c), small_number(a), small_number(b));
}

/// Nanoseconds in 64 bits reach three centuries to each side of 1970.
bool in_reach(Date day) { return day.days > -100'000 && day.days < 100'000; }

}  // namespace

std::optional<Date> parse_any_date(std::string_view text) {
  const auto day = parse_spelling(text);
  return day && in_reach(*day) ? day : std::nullopt;
}

std::optional<BarStamp> parse_stamp(std::string_view text) {
  const std::string_view zone = take_zone(text);
  if (all_digits(text) && text.size() >= 9 && text.size() != 12 && text.size() != 14) return from_epoch(text);
  std::size_t split = text.find_first_of("Tt ");
  std::size_t next = split + 1;
  if (split == std::string_view::npos) {
    if (!all_digits(text) || text.size() < 12) return std::nullopt;
    split = next = 8;
  }
  const auto day = parse_any_date(text.substr(0, split));
  std::string_view clock = text.substr(next);
  const auto east = take_offset(clock);
  const auto minute = parse_clock(clock);
  if (!day || !minute) return std::nullopt;
  if (east) return in_utc(*day, *minute, *east);  // an offset says all that a zone would
  return BarStamp{*day, *minute, false, zone};
}

}  // namespace brimwatch
