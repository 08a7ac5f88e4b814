#include "core/text/text.h"

#include <cstdint>
#include <cstdio>

namespace brimwatch {
namespace {

constexpr std::string_view kReplacement = "\xEF\xBF\xBD";

struct Decoded {
  char32_t code = 0;
  std::size_t size = 0;  ///< bytes taken; of a maximal ill-formed subpart when !valid
  bool valid = false;
};

/// The second byte's bounds are what rules out overlong forms, surrogates and what lies past U+10FFFF (Unicode table
/// 3-7).
struct Lead {
  int more = 0;
  unsigned char low = 0x80, high = 0xBF;
};

Lead lead_of(unsigned char byte) {
  if (byte >= 0xC2 && byte <= 0xDF) return {1, 0x80, 0xBF};
  if (byte == 0xE0) return {2, 0xA0, 0xBF};
  if (byte == 0xED) return {2, 0x80, 0x9F};
  if (byte >= 0xE1 && byte <= 0xEF) return {2, 0x80, 0xBF};
  if (byte == 0xF0) return {3, 0x90, 0xBF};
  if (byte >= 0xF1 && byte <= 0xF3) return {3, 0x80, 0xBF};
  if (byte == 0xF4) return {3, 0x80, 0x8F};
  return {};
}

Decoded decode(std::string_view text) {
  const auto first = static_cast<unsigned char>(text[0]);
  if (first < 0x80) return {first, 1, true};
  Lead lead = lead_of(first);
  if (lead.more == 0) return {0, 1, false};
  char32_t code = first & (0x3FU >> lead.more);
  for (int i = 1; i <= lead.more; ++i) {
    const auto at = static_cast<std::size_t>(i);
    if (at >= text.size()) return {0, at, false};
    const auto byte = static_cast<unsigned char>(text[at]);
    if (byte < lead.low || byte > lead.high) return {0, at, false};
    code = code << 6 | (byte & 0x3FU);
    lead.low = 0x80;
    lead.high = 0xBF;
  }
  return {code, static_cast<std::size_t>(lead.more) + 1, true};
}

bool is_blank_or_unseen(char32_t code) {
  if (code <= 0x20 || (code >= 0x7F && code <= 0xA0)) return true;  // C0, DEL, C1, no-break blank
  if (code >= 0x2000 && code <= 0x200F) return true;                // blanks of many widths, zero width, direction marks
  if (code >= 0x2028 && code <= 0x202F) return true;                // line separators, direction overrides
  if (code >= 0x205F && code <= 0x206F) return true;                // word joiner, isolates
  if (code >= 0xFDD0 && code <= 0xFDEF) return true;                // no characters at all: some libraries refuse them
  if ((code & 0xFFFE) == 0xFFFE) return true;
  if (code >= 0xE0000 && code <= 0xE0FFF) return true;  // tags
  return code == 0xAD || code == 0x061C || code == 0x180E || code == 0x3000 || code == 0xFEFF;
}

/// \uXXXX, as a pair of surrogates where one is too few (RFC 8259 section 7).
void append_escaped(std::string& out, char32_t code) {
  const auto put = [&out](unsigned unit) {
    char escaped[8];
    std::snprintf(escaped, sizeof escaped, "\\u%04x", unit & 0xFFFFU);
    out += escaped;
  };
  if (code < 0x10000) return put(static_cast<unsigned>(code));
  put(0xD800U + static_cast<unsigned>((code - 0x10000) >> 10));
  put(0xDC00U + static_cast<unsigned>((code - 0x10000) & 0x3FFU));
}

/// Calls `take(code, bytes)` for each character, ill-formed sequences as U+FFFD.
template <typename Take>
void each(std::string_view text, Take take) {
  while (!text.empty()) {
    const Decoded next = decode(text);
    take(next.valid ? next.code : U'\uFFFD', next.valid ? text.substr(0, next.size) : kReplacement);
    text.remove_prefix(next.size);
  }
}

}  // namespace

std::string clean_utf8(std::string_view text) {
  std::string out;
  out.reserve(text.size());
  each(text, [&](char32_t, std::string_view bytes) { out += bytes; });
  return out;
}

std::string clean_lines(std::string_view text) {
  std::string out;
  out.reserve(text.size());
  each(text, [&](char32_t code, std::string_view bytes) {
    if (code != '\n' && is_blank_or_unseen(code)) out += ' ';
    else out += bytes;
  });
  return out;
}

std::string escape_unseen(std::string_view json) {
  std::string out;
  out.reserve(json.size());
  each(json, [&](char32_t code, std::string_view bytes) {
    if (code == '\n' || code == ' ' || !is_blank_or_unseen(code)) out += bytes;
    else if (code == '\t' || code == '\r') out += ' ';  // white space between tokens; in strings they are escaped already
    else append_escaped(out, code);
  });
  return out;
}

std::size_t length_of(std::string_view text) {
  std::size_t count = 0;
  for (const char c : text) count += (static_cast<unsigned char>(c) & 0xC0U) != 0x80U;
  return count;
}

std::string clean_line(std::string_view text, std::size_t most) {
  constexpr std::string_view kCut = "...";
  std::string out;
  std::size_t count = 0, cut_at = 0;
  bool gap = false, full = false;
  const auto put = [&](std::string_view bytes) {
    if (full) return;
    if (count + kCut.size() <= most) cut_at = out.size();
    full = count == most;
    if (full) return;
    out += bytes;
    ++count;
  };
  each(text, [&](char32_t code, std::string_view bytes) {
    if (is_blank_or_unseen(code)) {
      gap = true;
      return;
    }
    if (gap && !out.empty()) put(" ");
    gap = false;
    put(bytes);
  });
  if (!full) return out;
  out.resize(cut_at);
  while (!out.empty() && out.back() == ' ') out.pop_back();
  return out.append(kCut);
}

std::string wrap(std::string_view text, std::size_t width, std::size_t indent) {
  std::string out;
  std::size_t column = 0;
  while (!text.empty()) {
    const std::size_t word_at = text.find_first_not_of(' ');
    if (word_at == std::string_view::npos) break;
    const std::size_t word_end = text.find(' ', word_at);
    const std::string_view word =
        text.substr(word_at, word_end == std::string_view::npos ? word_end : word_end - word_at);
    const std::size_t size = length_of(word);
    if (column > indent && column + word_at + size > width) {
      out.append("\n").append(indent, ' ').append(word);
      column = indent + size;
    } else {
      out.append(word_at, ' ').append(word);
      column += word_at + size;
    }
    text.remove_prefix(word_at + word.size());
  }
  return out;
}

std::string escape_markup(std::string_view text) {
  std::string out;
  out.reserve(text.size());
  for (const char c : text) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      case '\'':
        out += "&#39;";
        break;
      default:
        out += c;
    }
  }
  return out;
}

void append_json_string(std::string& out, std::string_view text) {
  out += '"';
  each(text, [&](char32_t code, std::string_view bytes) {
    if (code == '"' || code == '\\') {
      out.append("\\").append(bytes);
    } else if (code < 0x20 || code == 0x7F || code == 0x2028 || code == 0x2029) {
      append_escaped(out, code);
    } else {
      out += bytes;
    }
  });
  out += '"';
}

}  // namespace brimwatch
