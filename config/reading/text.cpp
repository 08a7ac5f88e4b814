#include "config/reading/text.h"

#include <filesystem>

#include "config/reading/value.h"

namespace brimwatch {
namespace {

bool is_control(char c) {
  const auto byte = static_cast<unsigned char>(c);
  return byte < 0x20 || byte == 0x7F;
}

/// Bytes of the well-formed character at the front; 0 when it is not well-formed.
std::size_t character_length(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const auto tail = [&](std::size_t i, unsigned least = 0x80, unsigned most = 0xBF) {
    return i < text.size() && byte(i) >= least && byte(i) <= most;
  };
  const unsigned lead = byte(0);
  if (lead < 0x80) return 1;
  if (lead >= 0xC2 && lead <= 0xDF) return tail(1) ? 2 : 0;
  if (lead >= 0xE0 && lead <= 0xEF) {
    const bool second = tail(1, lead == 0xE0 ? 0xA0 : 0x80, lead == 0xED ? 0x9F : 0xBF);
    return second && tail(2) ? 3 : 0;
  }
  if (lead >= 0xF0 && lead <= 0xF4) {
    const bool second = tail(1, lead == 0xF0 ? 0x90 : 0x80, lead == 0xF4 ? 0x8F : 0xBF);
    return second && tail(2) && tail(3) ? 4 : 0;
  }
  return 0;
}

}  // namespace

bool is_utf16(std::string_view text) {
  if (text.size() < 2) return false;
  const std::string_view mark = text.substr(0, 2);
  return mark == "\xFF\xFE" || mark == "\xFE\xFF" || (mark[0] == '\0') != (mark[1] == '\0');
}

bool is_utf8(std::string_view text) {
  while (!text.empty()) {
    const std::size_t length = character_length(text);
    if (length == 0) return false;
    text.remove_prefix(length);
  }
  return true;
}

std::size_t characters(std::string_view text) {
  std::size_t n = 0;
  for (const char c : text) n += (static_cast<unsigned char>(c) & 0xC0U) != 0x80U;
  return n;
}

std::string text_problem(std::string_view text, std::size_t most_bytes, bool many_lines) {
  if (text.size() > most_bytes) {
    return "found " + std::to_string(text.size()) + " bytes, expected at most " + std::to_string(most_bytes);
  }
  if (!is_utf8(text)) return "found bytes that are not UTF-8, expected UTF-8 text";
  for (const char c : text) {
    if (!is_control(c) || (many_lines && (c == '\n' || c == '\r' || c == '\t'))) continue;
    return "found " + in_quotes(text) + ", expected text without control characters";
  }
  return {};
}

std::string symbol_problem(std::string_view text) {
  constexpr std::size_t kMost = 32;
  if (text.empty()) return "found no symbol, expected one such as \"KLVN\"";
  if (text.size() > kMost) return "found " + std::to_string(text.size()) + " bytes, expected at most 32";
  bool plain = text.front() != '.' && text.front() != '#';
  bool ascii = true;
  for (const char c : text) {
    ascii = ascii && static_cast<unsigned char>(c) < 0x80;
    plain = plain && !is_control(c) && c != ' ' && c != '/' && c != '\\' && c != ',' && c != '"' && c != '\'';
  }
  if (!plain || (!ascii && !is_utf8(text))) {
    return "found " + in_quotes(is_utf8(text) ? text : "bytes that are not UTF-8") +
           ", expected a symbol without spaces, control characters, quotes, commas or slashes";
  }
  return {};
}

std::string absolute_path(std::string_view path, const std::string& directory, const std::string& home) {
  namespace fs = std::filesystem;
  if (path.empty()) return {};
  const bool at_home = path == "~" || path.substr(0, 2) == "~/";
  const fs::path full = at_home ? fs::path(home) / path.substr(path.size() > 1 ? 2 : 1) : fs::path(directory) / path;
  return full.lexically_normal().string();
}

}  // namespace brimwatch
