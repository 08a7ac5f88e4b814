#pragma once
// Server-sent events (the HTML standard, section 9.2 "Server-sent events"): a stream of text cut into events, and one
// event taken apart. Pure.
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>

namespace brimwatch {

/// Cuts a stream of bytes at the blank lines that end events, wherever it is cut itself. Lines end in CR, LF or both.
class EventSplitter {
 public:
  using Sink = std::function<void(std::string_view event)>;  ///< its lines, with the ends they came with

  /// An event longer than `longest` is dropped whole: `on_long` says so as soon as it is too long, between the events
  /// before and after it.
  EventSplitter(
      std::size_t longest, Sink sink, std::function<void()> on_long = [] {})
      : longest_(longest), sink_(std::move(sink)), on_long_(std::move(on_long)) {}
  void add(std::string_view bytes);
  /// Forgets the event that has not ended: the stream broke off (the standard has it so).
  void restart();

 private:
  void end_line();

  std::size_t longest_;
  Sink sink_;
  std::function<void()> on_long_;
  std::string event_;
  std::size_t line_ = 0;  ///< bytes of the line in hand
  bool after_cr_ = false, too_long_ = false;
};

struct EventParts {
  std::string name;  ///< empty: "message"
  std::string data;  ///< several lines of it with a line end between
  std::optional<std::string> id;
  std::optional<std::uint64_t> retry_ms;
};

/// `text`: one event, as EventSplitter gives it.
[[nodiscard]] EventParts parse_event(std::string_view text);

}  // namespace brimwatch
