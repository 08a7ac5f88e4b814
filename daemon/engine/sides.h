#pragma once
// Where one price stands against one watch, and what happens when it moves: the rules of a watch as a small machine.
// Pure; no I/O, no allocation. It sees only prices that moved the consolidated last in regular hours.
//
//   under --(>= pivot, armed: crossed)--> inside --(> top: left-range)--> over
//   under <--(<= slip: fell-under)------- inside <--(<= back: back-inside)-- over
//
// Between the slip level and the pivot a price that was inside stays so; one that was over counts as under. `armed` is
// lost at a crossing and regained at the re-arm level; and at once under the pivot, where the crossing took the price
// past the range, so that nobody could act on it. The first price of a day (or of a watch's life) that is already above
// the top makes `opened-over` of a crossing. One price makes one event: a crossing past the top is a crossing, whose side
// is over; a fall to the loss limit includes the fall under the pivot. An unarmed price that comes back into the range
// after it was said to be outside is back inside. Of a holding (hold_at) the loss limit is told once, and each gain once,
// whatever the side: a new crossing does not renew them.
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
  Shares size;  ///< 0: not known
  bool first_of_day = false;
  bool again = false;      ///< of the same trade or bar as the step before: does not count towards confirm_trades
  bool hold_back = false;  ///< the market holds back what calls to buy
};

/// What happened at one step, in order; `told` says whether the user hears of it (per_day, untold crossings).
struct SideEvents {
  struct One {
    NoticeKind kind = NoticeKind::crossed;
    bool told = true;
    bool last_today = false;  ///< per_day is reached with it
    std::uint16_t count = 1;
    Side side = Side::unknown;  ///< after it
  };
  std::array<One, 5> list{};
  int size = 0;
};

SideEvents advance(WatchStand& stand, const Levels& levels, const Rules& rules, const Step& step);

/// Prices at which advance() would change anything: at or above `up`, at or below `down`. Nothing between the two does.
struct Triggers {
  std::int64_t up = std::numeric_limits<std::int64_t>::max();
  std::int64_t down = std::numeric_limits<std::int64_t>::min();
};

[[nodiscard]] Triggers triggers_of(const WatchMemory& memory, const Levels& levels);

/// When a run at or above the pivot has lasted long enough, if nothing comes meanwhile; not set: it waits for a trade.
[[nodiscard]] Timestamp confirmed_at(const WatchStand& stand, const Rules& rules);

/// Starts a trade date: counts go to zero, yesterday's volume judgement and doubts are over, a half-confirmed crossing
/// too.
void begin_day(WatchMemory& memory, Date day, const Rules& rules);

/// Whether what a price did to a stand is worth remembering, for the case that its trade is taken back.
[[nodiscard]] bool is_change(const WatchStand& before, const WatchStand& after, const SideEvents& happened);

/// Kinds that a price makes, and its being taken back unmakes.
[[nodiscard]] bool is_of_a_price(NoticeKind kind);

/// Whether both say the same to whoever was told of one of them.
[[nodiscard]] bool says_the_same(const WatchStand& a, const WatchStand& b);

/// Of `now`, which took the place of `before` because a trade was taken back: what has nothing to do with prices stays,
/// and what was judged of a crossing that still stands; of a holding, which may be younger than the trade, what was told
/// of one's own price. Returns how far counts have gone back.
std::uint16_t keep_what_stays(const WatchStand& before, WatchStand& now, bool is_held);

}  // namespace brimwatch
