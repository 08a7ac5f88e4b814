#include "tape/record_text.h"

#include <algorithm>

namespace brimwatch {
namespace {

std::string_view without_cr(std::string_view line) {
  if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
  return line;
}

/// The place of the first ',', line feed or quote; npos when there is none.
std::size_t find_separator(std::string_view text, std::size_t at) {
  for (; at < text.size(); ++at) {
    if (text[at] == ',' || text[at] == '\n' || text[at] == '"') return at;
  }
  return std::string_view::npos;
}

}  // namespace

void RecordText::give_up(std::string_view text, State why, std::size_t at) {
  column = static_cast<std::uint32_t>(at + 1);
  lines = 1;
  const std::size_t end = text.find('\n');
  state = end == std::string_view::npos ? (why == State::open_quote ? why : State::more) : why;
  length = end == std::string_view::npos ? 0 : end + 1;
}

/// Reads a quoted field whose first quote is at `at`; leaves `at` on the separator behind it. False when it gave up.
bool RecordText::read_quoted(std::string_view text, std::size_t& at) {
  const std::size_t first = at;
  std::string value;
  for (std::size_t i = at + 1;;) {
    const std::size_t quote = text.find('"', i);
    if (quote == std::string_view::npos) {
      give_up(text, State::open_quote, first);
      return false;
    }
    value.append(text.substr(i, quote - i));
    if (quote + 1 < text.size() && text[quote + 1] == '"') {
      value += '"';
      i = quote + 2;
      continue;
    }
    at = quote + 1;
    break;
  }
  if (at < text.size() && text[at] == '\r' && at + 1 < text.size() && text[at + 1] == '\n') ++at;
  if (at == text.size()) return state = State::more, false;
  if (text[at] != ',' && text[at] != '\n') return give_up(text, State::stray_quote, at), false;
  lines += static_cast<std::uint32_t>(std::count(value.begin(), value.end(), '\n'));
  unquoted.push_back(std::move(value));
  fields.push_back({unquoted.back(), static_cast<std::uint32_t>(first + 1)});
  return true;
}

void RecordText::start_over() {
  state = State::more;
  length = 0;
  lines = 1;
  column = 0;
  fields.clear();
  unquoted.clear();
}

void RecordText::read(std::string_view text) {
  start_over();
  std::size_t at = 0;
  for (;;) {
    if (at < text.size() && text[at] == '"') {
      if (!read_quoted(text, at)) return;
    } else {
      const std::size_t end = find_separator(text, at);
      if (end == std::string_view::npos) return;
      if (text[end] == '"') return give_up(text, State::stray_quote, end);
      std::string_view value = text.substr(at, end - at);
      if (text[end] == '\n') value = without_cr(value);
      fields.push_back({value, static_cast<std::uint32_t>(at + 1)});
      at = end;
    }
    if (text[at++] == '\n') break;
  }
  state = State::whole;
  length = at;
}

}  // namespace brimwatch
