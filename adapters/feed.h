#pragma once
// The one interface of a quote feed. An adapter turns a source into ticks and knows nothing of pivots.
//
// Everything happens on the loop's thread: a feed never blocks and never calls its listener from within start() or
// subscribe(). A feed is made stopped; start() may be called again after stop().
#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/tick.h"

namespace brimwatch {

enum class FeedState : std::uint8_t {
  stopped,  ///< by us; it can be started again
  connecting,
  up,
  down,
  ended,  ///< by itself and for good: standard input is at its end
};

/// A feed's state and counts since the start of the program.
struct FeedHealth {
  FeedState state = FeedState::stopped;
  std::string text{};  ///< one line: where it is connected, or why not and what happens next
  std::uint64_t frames = 0, ticks = 0, bytes = 0;
  std::uint64_t malformed = 0;   ///< frames or rows that could not be read
  std::uint64_t unknown = 0;     ///< messages of no kind that the rules know
  std::uint64_t unwatched = 0;   ///< messages of symbols that nobody asked for
  std::uint64_t gaps = 0;        ///< breaks in the source's own numbering, each told as a hole
  std::uint64_t reconnects = 0;  ///< successful reconnects
  std::string example{};         ///< the last message that could not be read, and why; empty when there was none
  std::vector<std::pair<std::string, std::uint64_t>>
      unknown_codes{};  ///< unmapped sale conditions, and how often each came
};

class FeedListener {
 public:
  virtual ~FeedListener() = default;
  /// In order of arrival, `received` filled in. A hole tick stands where the source's own numbering has a gap.
  virtual void on_ticks(std::span<const Tick> ticks) = 0;
  /// The state changed; `text` says why, in one line.
  virtual void on_state(FeedState state, std::string_view text) = 0;
  /// The bytes as they came, before decoding, for the recorder.
  virtual void on_frame(Timestamp received, std::string_view bytes) = 0;
  /// What the user has to fix in the configuration, said once; the feed goes on.
  virtual void on_remark(std::string_view) {}
  /// The source refused something, though the connection stays: the reason for a later silence.
  virtual void on_refusal(std::string_view) {}
  /// Of what came something could not be read; `text` says what, in one line.
  virtual void on_unreadable(std::string_view) {}
};

class Feed {
 public:
  virtual ~Feed() = default;
  virtual void start(FeedListener& listener) = 0;
  virtual void stop() = 0;
  /// The whole set of symbols wanted from now on; the feed works out the difference.
  virtual void subscribe(const std::vector<std::string>& symbols) = 0;
  [[nodiscard]] virtual FeedHealth health() const = 0;
};

}  // namespace brimwatch
