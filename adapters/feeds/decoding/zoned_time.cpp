#include "adapters/feeds/decoding/zoned_time.h"

#include <algorithm>

namespace brimwatch {
namespace {

constexpr std::size_t kOffsetFrom = 19;  // behind "2026-10-14T10:00:00"
constexpr std::size_t kLongest = 64;
constexpr int kFirstYear = 1990, kLastYear = 2100;

/// Where "+0000" or "+00" begins at the end of the text, or npos.
std::size_t brief_offset(std::string_view text) {
  for (const std::size_t length : {5U, 3U}) {
    if (text.size() < kOffsetFrom + length) continue;
    const std::size_t at = text.size() - length;
    const bool digits = std::all_of(text.begin() + static_cast<std::ptrdiff_t>(at) + 1, text.end(),
                                    [](char c) { return c >= '0' && c <= '9'; });
    if ((text[at] == '+' || text[at] == '-') && digits) return at;
  }
  return std::string_view::npos;
}

Timestamp from_local(Timestamp local, std::span<const ZoneShift> zone) {
  // The shift in force at that local time read with the offset before it: an hour that comes twice is taken as the first.
  Nanos offset = zone.front().offset.count() * kSecond;
  for (const ZoneShift& shift : zone) {
    if (local - offset < shift.from) break;
    offset = shift.offset.count() * kSecond;
  }
  return local - offset;
}

std::string with_dashes(std::string_view text) {
  std::string out(text.substr(0, kLongest));
  out[4] = out[7] = '-';
  return out;
}

/// "20261014-14:00:01.123", as the FIX Protocol writes a UTCTimestamp (fixtrading.org, FIX 4.4 data types): always UTC.
std::optional<Timestamp> parse_fix(std::string_view text) {
  const bool form = text.size() >= 17 && text[8] == '-' && text[11] == ':' && text[14] == ':';
  if (!form || text.find_first_not_of("0123456789-:.") != text.npos) return std::nullopt;
  const std::string date(text.substr(0, 8));
  return parse_rfc3339(date.substr(0, 4) + "-" + date.substr(4, 2) + "-" + date.substr(6) + "T" +
                       std::string(text.substr(9)) + "Z");
}

}  // namespace

Result<std::vector<ZoneShift>> read_zone(const std::string& name) {
  if (name.empty()) return std::vector<ZoneShift>();
  return zone_shifts(name, kFirstYear, kLastYear);
}

std::optional<Timestamp> parse_zoned(std::string_view text, std::span<const ZoneShift> zone) {
  if (const auto time = parse_rfc3339(text)) return time;
  if (const auto time = parse_fix(text)) return time;
  if (text.size() > 7 && text[4] == '/' && text[7] == '/') return parse_zoned(with_dashes(text), zone);
  if (text.size() < kOffsetFrom || text.size() > kLongest) return std::nullopt;
  const std::size_t at = brief_offset(text);
  std::string full(text.substr(0, at));
  if (at != text.npos) {
    const std::string_view offset = text.substr(at);
    full.append(offset.substr(0, 3)).append(":").append(offset.size() == 5 ? offset.substr(3) : "00");
    return parse_rfc3339(full);
  }
  if (zone.empty()) return std::nullopt;
  const auto local = parse_rfc3339(full + "Z");
  return local ? std::optional(from_local(*local, zone)) : std::nullopt;
}

}  // namespace brimwatch
