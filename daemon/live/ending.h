#pragma once
// The daemon's shutdown, in order and within five seconds whatever hangs: what is due is sent, what is in hand is
// waited for, the journal is closed. What is still open then resumes at the next start. It never blocks for longer than
// the journal's part.
//
// One thread, the loop's: step() every kStep until it says that it is over. The world's own parts (sockets, workers, the
// recorder) end after it.
#include <chrono>
#include <functional>

#include "live/house.h"

namespace brimwatch {

class Ending {
 public:
  struct World {
    std::function<Nanos()> steady;
    /// Writes what is left, for so long at most; false: something is not written.
    std::function<bool(std::chrono::milliseconds most)> close_journal;
  };
  /// Feeds are stopped, what is there is handed to the journal.
  Ending(House& house, World world);

  /// True once it is over, and from then on.
  bool step();
  [[nodiscard]] bool kept_all() const { return kept_all_; }
  /// A thread hangs in a channel's or the journal's hands: the process must not wait for what it holds.
  [[nodiscard]] bool left_behind() const { return left_behind_; }

  static constexpr std::chrono::milliseconds kStep{20};
  static constexpr Nanos kSending = 2 * kSecond;  ///< what is due may still go out
  static constexpr Nanos kInHand = 1 * kSecond;   ///< then only answers are waited for
  static constexpr std::chrono::milliseconds kJournal{1000};
  static constexpr Nanos kMost = 5 * kSecond;  ///< of all, with what the world ends after it
  static_assert(kSending + kInHand + kJournal.count() * 1'000'000 <= kMost - kSecond);

 private:
  enum class Part : std::uint8_t { sending, in_hand, last_answers, over };
  void go_on();

  House& house_;
  World world_;
  Nanos begun_;
  Part part_ = Part::sending;
  int quiet_rounds_ = 0;  ///< answers of other threads may be on their way for one
  bool kept_all_ = true, left_behind_ = false;
};

}  // namespace brimwatch
