#pragma once
// Cuts a stream of bytes into lines in bounded memory.
#include <cstddef>
#include <functional>
#include <string>
#include <string_view>

namespace brimwatch {

class LineSplitter {
 public:
  using Sink = std::function<void(std::string_view line)>;

  /// A line longer than `longest` is dropped whole: `on_long` says so as soon as it is too long, between the lines before
  /// and after it. Reading goes on with the next.
  LineSplitter(
      std::size_t longest, Sink sink, std::function<void()> on_long = [] {})
      : longest_(longest), sink_(std::move(sink)), on_long_(std::move(on_long)) {}

  void add(std::string_view bytes);

  /// The stream is over: what is left without a newline counts as a line.
  void finish();

 private:
  void keep(std::string_view part);

  std::size_t longest_;
  Sink sink_;
  std::function<void()> on_long_;
  std::string rest_;  ///< the beginning of a line whose end has not come yet
  bool skipping_ = false;
};

}  // namespace brimwatch
