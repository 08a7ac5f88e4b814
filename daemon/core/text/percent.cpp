#include "core/text/percent.h"

namespace brimwatch {
namespace {

bool is_unreserved(char c) {
  return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-' || c == '.' || c == '_' ||
         c == '~';
}

}  // namespace

std::string percent_encode(std::string_view text, std::string_view kept) {
  constexpr std::string_view kDigits = "0123456789ABCDEF";
  std::string out;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (is_unreserved(c) || kept.find(c) != kept.npos) out += c;
    else out.append({'%', kDigits[byte >> 4], kDigits[byte & 15]});
  }
  return out;
}

}  // namespace brimwatch
