#pragma once
// Cuts a stream of bytes into lines in bounded memory.
#include <cstddef>
#include <cstdint>
#include <functional>
#include <string>
#include <string_view>

namespace brimwatch {

class LineSplitter {
 public:
  using Sink = std::function<void(std::string_view line)>;

  /// A line longer than `longest` is dropped whole and counted; reading goes on with the next.
  LineSplitter(std::size_t longest, Sink sink) : longest_(longest), sink_(std::move(sink)) {}

  void add(std::string_view bytes);

  /// The stream is over: what is left without a newline counts as a line.
  void finish();

  [[nodiscard]] std::uint64_t dropped() const { return dropped_; }

 private:
  void keep(std::string_view part);

  std::size_t longest_;
  Sink sink_;
  std::string rest_;  ///< the beginning of a line whose end has not come yet
  bool skipping_ = false;
  std::uint64_t dropped_ = 0;
};

}  // namespace brimwatch
