#pragma once
// Where one price stands against one watch, and what happens when it moves: the rules of a watch as a small machine.
// Pure; no I/O, no allocation. It sees only prices that moved the consolidated last in regular hours.
//
//   under --(>= pivot, armed: crossed)--> inside --(> top: left-range)--> over
//   under <--(<= slip: fell-under)------- inside <--(<= back: back-inside)-- over
//
// Between the slip level and the pivot a side stays what it was. `armed` is lost at a crossing and regained at the re-arm
// level. The first price of a day (or of a watch's life) that is already above the top makes `opened-over` of a crossing.
#include <array>
#include <cstdint>
#include <limits>

#include "core/notice.h"
#include "core/state.h"
#include "core/watch.h"

namespace brimwatch {

/// A price as the machine sees it.
struct Step {
  Price price;
  Timestamp time;
  std::uint64_t trade = 0;
  char exchange = 0;  ///< where the trade was made; ids are each exchange's own
  bool first_of_day = false;
  bool again = false;  ///< of the same trade or bar as the step before: does not count towards confirm_trades
};

/// What happened at one step, in order; `told` says whether the user hears of it (per_day, untold crossings).
struct SideEvents {
  struct One {
    NoticeKind kind = NoticeKind::crossed;
    bool told = true;
    std::uint16_t count = 1;
    Side side = Side::unknown;  ///< after it
  };
  std::array<One, 6> list{};
  int size = 0;
};

SideEvents advance(WatchMemory& memory, const Levels& levels, const Rules& rules, const Step& step);

/// Prices at which advance() would change anything: at or above `up`, at or below `down`. Nothing between the two does.
struct Triggers {
  std::int64_t up = std::numeric_limits<std::int64_t>::max();
  std::int64_t down = std::numeric_limits<std::int64_t>::min();
};

[[nodiscard]] Triggers triggers_of(const WatchMemory& memory, const Levels& levels);

/// Starts a trade date: counts go to zero, yesterday's volume judgement and silence are over, a half-confirmed crossing
/// too. Nothing of yesterday can be taken back, for the ids of trades begin anew.
void begin_day(WatchMemory& memory, Date day);

/// The trade behind something that was told is taken back. Says what it was undone: true when it was the crossing or the
/// last event; the machine then stands as before it.
bool take_back(WatchMemory& memory, const Step& trade);

/// Whether both mean one trade: by id and exchange where both have them, else by price and time.
[[nodiscard]] bool is_same_trade(const Step& a, const Step& b);

}  // namespace brimwatch
