#include "adapters/feeds/decoding/excerpt.h"

namespace brimwatch {

std::string excerpt(std::string_view bytes, std::size_t most) {
  std::string out;
  for (const char c : bytes.substr(0, most)) out += c >= ' ' && c <= '~' ? c : '.';
  if (bytes.size() > most) out += "...";
  return out;
}

}  // namespace brimwatch
