#pragma once
// A tape as a live source: what is sent when, with faults on request. Pure: ticks and the time
// since the start in, steps out; the same seed gives the same steps.
#include <cstdint>
#include <deque>
#include <functional>
#include <optional>
#include <random>
#include <vector>

#include "core/tick.h"
#include "rehearsal/misbehaviour.h"

namespace brimwatch {

struct SourceOptions {
  double speed = 1;  ///< times as fast as it was
  std::uint64_t seed = 1;
  std::vector<Misbehaviour> misbehaviours;
  /// The instant at which the local day of `time` reached that second: what a moment such as 10:15 means on this tape.
  std::function<Timestamp(Timestamp time, int second_of_day)> moment;
};

/// One thing to do. Times are nanoseconds of our own clock since the start.
struct SourceStep {
  enum class Kind : std::uint8_t { message, close, cut, away } kind = Kind::message;
  Nanos due = 0;
  Tick tick;                 ///< of a message
  std::uint64_t number = 0;  ///< of a message: counts up for each symbol; what is dropped has one too
  std::uint64_t garble = 0;  ///< not 0: the message is broken in a way that this number chooses
  int code = 0;              ///< of a close
  Nanos span = 0;            ///< of an absence
};

struct SourceCounts {
  std::uint64_t messages = 0, dropped = 0, garbled = 0, doubled = 0, reordered = 0;
};

class RehearsalSource {
 public:
  explicit RehearsalSource(SourceOptions options);

  /// The next tick of the tape. Holes of a recording are left out: a source knows nothing of them.
  void add(const Tick& tick);
  /// There is no more: what was held back comes too.
  void end();

  /// Whether ticks are wanted to know all that is due at `now`.
  [[nodiscard]] bool wants_more(Nanos now) const { return !ended_ && (steps_.empty() || steps_.back().due <= now); }
  [[nodiscard]] bool ended() const { return ended_ && steps_.empty(); }
  [[nodiscard]] std::optional<Nanos> next_due() const;
  /// The next step that is due at `now`, if any.
  [[nodiscard]] std::optional<SourceStep> next(Nanos now);
  [[nodiscard]] const SourceCounts& counts() const { return counts_; }

 private:
  /// A misbehaviour with its place on the tape, nanoseconds behind the first tick.
  struct Planned {
    Misbehaviour what;
    Nanos from = 0;
    bool done = false;
  };
  void plan(Timestamp first);
  void do_what_happens_once(Nanos at);
  [[nodiscard]] bool is_lost(Nanos at) const;
  [[nodiscard]] Nanos held_until(Nanos at) const;
  [[nodiscard]] bool chance(Misbehaviour::Kind kind, Nanos at);
  [[nodiscard]] double uniform() { return static_cast<double>(random_() >> 11) * 0x1p-53; }
  [[nodiscard]] Nanos scaled(Nanos at) const;
  void push(SourceStep step);
  void push_message(SourceStep step, Nanos at);

  SourceOptions options_;
  std::mt19937_64 random_;
  std::vector<Planned> planned_;
  std::vector<std::uint64_t> numbers_;  ///< by symbol
  std::deque<SourceStep> steps_;        ///< due in this order
  std::optional<SourceStep> held_;      ///< waits for the next one to go before it
  Timestamp first_;
  Nanos last_due_ = 0;
  bool ended_ = false;
  SourceCounts counts_;
};

}  // namespace brimwatch
