#include "adapters/feeds/decoding/event_text.h"

#include <charconv>
#include <utility>

namespace brimwatch {
namespace {

/// The next line, without its end; takes it off `rest`.
std::string_view take_line(std::string_view& rest) {
  const std::size_t end = rest.find_first_of("\r\n");
  const std::string_view line = rest.substr(0, end);
  std::size_t next = end == rest.npos ? rest.size() : end + 1;
  if (end != rest.npos && rest.substr(end, 2) == "\r\n") ++next;
  rest.remove_prefix(next);
  return line;
}

void take_field(std::string_view name, std::string_view value, EventParts& parts, bool& has_data) {
  if (name == "event") {
    parts.name = value;
  } else if (name == "data") {
    if (has_data) parts.data += '\n';
    has_data = true;
    parts.data += value;
  } else if (name == "id") {
    if (value.find('\0') == value.npos) parts.id = value;
  } else if (name == "retry") {
    std::uint64_t ms = 0;
    const auto [end, error] = std::from_chars(value.data(), value.data() + value.size(), ms);
    if (error == std::errc() && end == value.data() + value.size()) parts.retry_ms = ms;
  }
}

}  // namespace

void EventSplitter::add(std::string_view bytes) {
  for (const char c : bytes) {
    const bool second_of_two = c == '\n' && after_cr_;
    after_cr_ = c == '\r';
    if (second_of_two) {
      if (!event_.empty()) event_ += c;
      continue;
    }
    if (event_.size() < longest_) event_ += c;
    else if (!std::exchange(too_long_, true)) on_long_();
    if (c == '\r' || c == '\n') end_line();
    else ++line_;
  }
}

void EventSplitter::end_line() {
  if (line_ > 0) return void(line_ = 0);
  if (!too_long_ && event_.size() > 1) sink_(event_);
  event_.clear();
  too_long_ = false;
}

void EventSplitter::restart() {
  event_.clear();
  line_ = 0;
  after_cr_ = too_long_ = false;
}

EventParts parse_event(std::string_view text) {
  constexpr std::string_view kMark = "\xEF\xBB\xBF";  // one may stand at the beginning of the stream
  if (text.substr(0, kMark.size()) == kMark) text.remove_prefix(kMark.size());
  EventParts parts;
  bool has_data = false;
  while (!text.empty()) {
    const std::string_view line = take_line(text);
    const std::size_t colon = line.find(':');
    if (colon == 0) continue;  // a comment
    std::string_view value = colon == line.npos ? std::string_view() : line.substr(colon + 1);
    if (!value.empty() && value.front() == ' ') value.remove_prefix(1);
    take_field(line.substr(0, colon), value, parts, has_data);
  }
  return parts;
}

}  // namespace brimwatch
