#pragma once
// Looks at each tick before the engine does: repetitions, times that cannot be, quotes that cannot be. Pure.
//
//   repeated   the same trade id of the same exchange with the same price and size: left out; so are cancels and
//              corrections. Where a source has no ids,
//              only what it sends again after a reconnect, or at each question of a polled source, can be told from two
//              real trades that look alike.
//   unchanged  a day snapshot like the one before: left out
//   future     stamped more than a minute ahead of our clock, and of the feed's as it went on since: left out, until so
//   many come that the clock must be ours absurd     crossed quotes, prices beyond any stock's: left out unheard    a
//   cancel or a correction of a trade that never came: its size is struck out, for it adds or takes away
//              nothing of the day's volume; what else it takes back the engine knows
//   disordered older than the symbol's last by more than a second: counted and let through, the engine knows what to do
#include <cstdint>
#include <vector>

#include "adapters/feeds/instant.h"
#include "core/tick.h"

namespace brimwatch {

struct ScreenCounts {
  std::uint64_t repeated = 0, unchanged = 0, future = 0, absurd = 0, crossed = 0, disordered = 0, unheard = 0;
};

/// The latest fingerprints of one symbol: at least the last two thousand of them, at most twice as many. Two tables take
/// turns: the older one is forgotten whole when the newer one is full. They grow with the symbol's trades.
class RecentPrints {
 public:
  /// Whether it was there; it is afterwards. 0 is no fingerprint.
  bool seen(std::uint64_t fingerprint);
  /// Certain: nothing has been forgotten yet.
  [[nodiscard]] bool never_had(std::uint64_t fingerprint) const {
    return !forgot_ && !has(newer_, fingerprint) && !has(older_, fingerprint);
  }

 private:
  using Table = std::vector<std::uint64_t>;  ///< open addressing, half empty, 0 where empty
  static bool has(const Table& table, std::uint64_t fingerprint);
  static void put(Table& table, std::uint64_t fingerprint);
  void make_room();

  Table newer_, older_;
  std::size_t used_ = 0;  ///< of the newer one
  bool forgot_ = false;
};

class TickScreen {
 public:
  explicit TickScreen(bool asks_again = false) : asks_again_(asks_again) {}

  /// Whether the tick may go on.
  [[nodiscard]] bool pass(const Tick& tick, Instant now);

  /// Of a tick that has passed: strikes out what it would take back of a trade that never came.
  void strike_unheard(Tick& tick);

  /// The connection was lost: what comes now may be a repetition.
  void on_reconnect();

  [[nodiscard]] const ScreenCounts& counts() const { return counts_; }
  /// So many ticks lie in the future, for so long, that our own clock must be wrong.
  [[nodiscard]] bool doubts_our_clock() const { return trust_future_; }

 private:
  struct Symbol {
    Timestamp last;    ///< exchange time of its latest tick
    Timestamp resend;  ///< ticks up to here may be repetitions without an id
    Tick day;          ///< its last snapshot
    RecentPrints prints;
    bool has_exchanges = false;  ///< its trades say where they were made
  };
  [[nodiscard]] bool is_future(const Tick& tick, Instant now);
  void note_believed(const Tick& tick, Instant now);
  [[nodiscard]] bool is_absurd(const Tick& tick);
  [[nodiscard]] bool is_repeated(const Tick& tick, Symbol& symbol);

  bool asks_again_;
  std::vector<Symbol> symbols_;  ///< by id
  ScreenCounts counts_;
  Timestamp newest_;  ///< latest time that was believed, and when it came
  Nanos newest_at_ = 0;
  bool trust_future_ = false;
  int future_run_ = 0;
  Nanos future_since_ = 0;
};

}  // namespace brimwatch
