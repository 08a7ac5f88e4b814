#include "adapters/feeds/decoding/pointer.h"

#include <charconv>

namespace brimwatch {
namespace {

Result<std::string> unescape(std::string_view token, std::string_view whole) {
  std::string out;
  out.reserve(token.size());
  for (std::size_t i = 0; i < token.size(); ++i) {
    if (token[i] != '~') {
      out += token[i];
      continue;
    }
    const char next = i + 1 < token.size() ? token[i + 1] : '\0';
    if (next != '0' && next != '1') {
      return fail("found \"" + std::string(whole) + "\", but '~' stands only before 0 (for ~) or 1 (for /)");
    }
    out += next == '0' ? '~' : '/';
    ++i;
  }
  return out;
}

}  // namespace

Result<std::vector<std::string>> parse_pointer(std::string_view text) {
  std::vector<std::string> tokens;
  if (text.empty()) return tokens;
  if (text.front() != '/') {
    return fail("found \"" + std::string(text) + "\", expected a JSON Pointer such as /price, beginning with /");
  }
  for (std::string_view rest = text; !rest.empty();) {
    const std::size_t end = rest.find('/', 1);
    auto token = unescape(rest.substr(1, end == rest.npos ? end : end - 1), text);
    if (!token) return tl::unexpected(token.error());
    tokens.push_back(std::move(*token));
    rest = end == rest.npos ? std::string_view() : rest.substr(end);
  }
  return tokens;
}

std::optional<std::size_t> array_index(std::string_view token) {
  if (token.empty() || (token.size() > 1 && token.front() == '0')) return std::nullopt;
  std::size_t value = 0;
  for (const char c : token) {
    if (c < '0' || c > '9') return std::nullopt;
  }
  const auto [end, error] = std::from_chars(token.data(), token.data() + token.size(), value);
  return error == std::errc() ? std::optional(value) : std::nullopt;
}

}  // namespace brimwatch
