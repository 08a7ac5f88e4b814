#include "adapters/channels/retry_after.h"

#include <algorithm>
#include <string>

#include "adapters/libraries/curl.h"

namespace brimwatch {

std::optional<std::chrono::seconds> parse_retry_after(std::string_view value, std::chrono::sys_seconds now) {
  constexpr std::chrono::seconds kMost = std::chrono::hours(24);
  while (!value.empty() && (value.front() == ' ' || value.front() == '\t')) value.remove_prefix(1);
  while (!value.empty() &&
         (value.back() == ' ' || value.back() == '\t' || value.back() == '\r' || value.back() == '\n')) {
    value.remove_suffix(1);
  }
  if (value.empty() || value.size() > 64) return std::nullopt;
  if (value.find_first_not_of("0123456789") == std::string_view::npos) {
    const std::string digits(value.substr(0, value.find_first_not_of('0') == std::string_view::npos ? 1 : value.size()));
    if (digits.size() > 9) return kMost;
    return std::min<std::chrono::seconds>(std::chrono::seconds(std::stol(digits)), kMost);
  }
  if (value.find("GMT") == std::string_view::npos && value.find(':') == std::string_view::npos) return std::nullopt;
  const std::time_t time = curl().getdate(std::string(value).c_str(), nullptr);
  if (time == -1) return std::nullopt;
  const std::chrono::seconds wait = std::chrono::sys_seconds(std::chrono::seconds(time)) - now;
  return std::clamp(wait, std::chrono::seconds(0), kMost);
}

}  // namespace brimwatch
