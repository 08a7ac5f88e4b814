#pragma once
// Progress of long work: a line on a terminal that is overwritten, nothing in a pipe.
#include <cstdint>
#include <string>
#include <string_view>

namespace brimwatch {

struct Progress {
  std::uint64_t done = 0;   ///< things done so far
  std::string_view things;  ///< "ticks", "files"
  double share = -1;        ///< of all the work, 0 to 1; negative: not known
  double seconds = 0;       ///< since the start
  std::string at;           ///< where it is, e.g. a time of the tape; may be empty
};

/// "12.4M ticks, 3.1M/s, 42 % done, 5 s left, at 10:42": without what is not known yet. The time left supposes that the
/// rest goes as fast as what is done; it is not said in the first second.
[[nodiscard]] std::string progress_text(const Progress& progress);

/// The line itself, on standard error, when that is a terminal; at once, then at most five times a second. Whoever prints
/// meanwhile takes it away first.
class ProgressLine {
 public:
  ProgressLine();
  ~ProgressLine() { clear(); }
  ProgressLine(const ProgressLine&) = delete;
  ProgressLine& operator=(const ProgressLine&) = delete;

  /// True when it is time to show again; costs one look at the clock.
  [[nodiscard]] bool due();
  /// `progress.seconds` is filled in here.
  void show(Progress progress);
  /// Takes the line away, so that something else can be printed in its place.
  void clear();

 private:
  bool terminal_;
  bool standing_ = false;
  std::int64_t started_ns_, last_ns_ = 0;
};

}  // namespace brimwatch
