#pragma once
// What has to survive a restart: the engine's state in a form that the journal keeps. Names, not ids, so that it means
// the same in the next process.
#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <type_traits>
#include <vector>

#include "core/notice.h"
#include "core/seen_print.h"
#include "core/text/spans.h"

namespace brimwatch {

/// Where a watch stands: what a price changes, and what is restored when the trade behind the price is taken back.
struct WatchStand {
  Side side = Side::unknown;
  bool armed = true;       ///< a crossing counts
  bool following = false;  ///< a crossing has been, and "fell under" has not yet been reached
  bool told = false;       ///< that crossing was told; what follows an untold one is not told either, but the loss limit
  bool held = false;       ///< that crossing was held back for a falling market; what follows it is held back too
  bool away = false;       ///< the last thing said was that the price is not in the range
  bool never_inside = false;  ///< since the crossing, which took the price past the range, it has not been in the range
  bool loss_pending = false;  ///< a crossing has been, and the loss limit has not been told since
  bool arrived_told = false, faded_told = false;  ///< for the present crossing
  std::uint8_t gains_told = 0;                    ///< of a holding: a bit for each of Levels::gains
  Weight weight_said = Weight::unknown;           ///< the last judgement that was told: at the crossing, arrived or faded
  bool confirm_opened_over = false;               ///< the first of those below opened the day above the range
  std::uint16_t confirm_trades = 0;  ///< trades in a row at or above the pivot, while a crossing awaits confirmation
  Timestamp confirm_since;           ///< time of the first of them
  Timestamp crossing_time;           ///< of the last crossing
  Timestamp reached;  ///< the day's first price at or above the pivot, from below: the open where it opened there
  std::array<std::uint16_t, kNoticeKinds> counts{};  ///< what happened on the day, by kind

  [[nodiscard]] std::uint16_t count_of(NoticeKind kind) const { return counts[static_cast<std::size_t>(kind)]; }

  bool operator==(const WatchStand&) const = default;
};

/// What a watch remembers: plain numbers, the same in the engine and in the journal.
struct WatchMemory : WatchStand {
  Date day;             ///< trade date that `counts` and what stands below belong to
  Date quiet_since;     ///< first of the sessions in a row, up to yesterday, that were heard and did not reach the pivot
  bool silent = false;  ///< nothing more today: the price looks like a split, and nobody holds the stock by this watch
  bool doubtful = false;        ///< the price looks like a split: said with everything that is told today
  bool release = false;         ///< the market holds nothing back any more, and the held crossing has not been told yet
  bool muted_under = false;     ///< its user has muted it until a price is under the pivot
  Timestamp muted_until;        ///< or until then
  Price bought;                 ///< its user holds the stock by this watch, and paid so much; not set: does not
  std::uint16_t withdrawn = 0;  ///< how far `counts` has gone back today, so that no id comes twice

  [[nodiscard]] bool is_muted(Timestamp at) const { return muted_under || at < muted_until; }
  [[nodiscard]] bool is_held() const { return bought.is_set(); }

  bool operator==(const WatchMemory&) const = default;
};

/// Where a watch stood before a trade changed it.
struct WatchPast {
  WatchStand before;
  SeenPrint by;        ///< the trade
  Price price_before;  ///< the last price before it

  bool operator==(const WatchPast&) const = default;
};
constexpr std::size_t kPastMost = 8;  ///< changes of one watch that can be taken back

/// State of one watch. Key: symbol and pivot.
struct WatchState : WatchMemory {
  std::string symbol;
  Price pivot;
  std::vector<std::int64_t> past;  ///< its last changes of the day, the newest first: see pack()

  bool operator==(const WatchState&) const = default;
};

/// Changes of a watch as plain numbers, and back; numbers that are not from pack() of this version give nothing.
[[nodiscard]] std::vector<std::int64_t> pack(const std::vector<WatchPast>& past);
[[nodiscard]] std::vector<WatchPast> unpack(const std::vector<std::int64_t>& numbers);

constexpr std::uint8_t kFeedUnknown = 0xFF;

/// What is remembered of a symbol's day.
struct SymbolMemory {
  Date day;
  std::uint8_t recent_at = 0;  ///< where in recent_trades the next one goes
  std::uint8_t knots = 0;      ///< how many of the model's curve have been passed
  bool in_hole = false;        ///< the feed was blind since the last price
  std::uint8_t print_at = 0;   ///< where in `prints` the newest stands
  Price high_floor;            ///< a price above it is one of the day's highest
  Price low_ceiling;           ///< a price under it is one of the day's lowest; 0: every price is
  Timestamp newest_before;     ///< time of the newest trade before the newest
  std::uint64_t trades = 0;
  Timestamp judge_time;  ///< waiting watches are judged again then, or at judge_volume
  Shares judge_volume;
  std::uint8_t behind = 0;                       ///< trades in a row that came too late by the newest one's time
  std::array<std::uint64_t, 8> recent_trades{};  ///< ring of the last ids with their exchange, for the next process
  // What stands above fills two cache lines; of what stands below a trade writes its price only.
  LastPrints prints;
  Timestamp behind_newest;   ///< the newest of the trades that `behind` counts
  Timestamp last_time;       ///< exchange time of the newest trade taken
  Timestamp newest_outside;  ///< the same of trades that move no price, and of those outside the session
  Timestamp newest_bar;      ///< end of the newest bar
  Price last;                ///< the last eligible price of the day
  char last_exchange = 0;
  std::uint8_t heard_by = kFeedUnknown;  ///< the feed that the newest trade came from
  SeenPrint opening;                     ///< the day's first price
  Extremes highs, lows;                  ///< the day's outermost prices
  SeenPrint closing;                     ///< the closing print; no price until it comes
  Shares closing_size;
  Price previous_close;       ///< of the session before
  bool opening_seen = false;  ///< the opening print has come
  bool ended = false;         ///< the day has been closed and told
  SeenPrint held;             ///< a price that the print guard holds until the tape agrees; no price: none
  Timestamp held_received;
  Shares held_size;
  Shares so_far;                                  ///< eligible volume of the day
  std::int32_t minute = -1;                       ///< the newest minute of the session that `so_far` knows
  std::array<std::int64_t, 36> quarter_volume{};  ///< by quarter-hour since the open, micros
  Shares outside_volume;                          ///< heard before the open and not counted for the day
  Shares day_volume_base;           ///< what the source's own count of the day had before the session, taken off
  bool day_volume_unclear = false;  ///< and nobody knows what that was
  Spans unheard;  ///< of the session, in time of trading: not carried by the feed, and its volume not known
  Spans healed;   ///< not carried, but its volume is known by now
  double missed_minutes = 0, missed_from = 0, missed_to = 0;  ///< `unheard` as one stretch, minutes
  double missed_share = 0;                                    ///< of the day's usual volume, in those minutes
  double blind_share = 0;                                     ///< the same of `unheard` and `healed` together
  Nanos halted_for = 0;                                       ///< halts of the day that are over
  Timestamp halted_since;                                     ///< the halt under way
  Price before_halt;                                          ///< the last price when it began
  bool halt_told = false;                                     ///< somebody was told of it
  bool resuming = false;                                      ///< it is over, but no trade has come yet
  std::array<std::int64_t, 24> knot_volume{};                 ///< so_far when each of them was passed, micros
  Timestamp all_kept_until;  ///< in a journal: what any stock traded up to then is in it before this state, or with it

  [[nodiscard]] Price day_high() const { return highs.price[0]; }
  [[nodiscard]] Price day_low() const { return lows.price[0]; }
  [[nodiscard]] SeenPrint newest_print() const { return prints.get(print_at); }
  /// The price before the last one; of the session before, when there was none today.
  [[nodiscard]] Price before() const {
    const Price earlier = prints.price[(print_at + kRecentPrints - 1) % kRecentPrints];
    return earlier.is_set() ? earlier : previous_close;
  }

  bool operator==(const SymbolMemory&) const = default;
};

/// State of one symbol's day. Key: symbol.
struct SymbolState : SymbolMemory {
  std::string symbol;

  bool operator==(const SymbolState&) const = default;
};

/// Calls visit(name, field) for every field, in a fixed order: for whoever keeps, prints or compares states by name, so
/// that a new field needs no change there. `Memory` is WatchStand, WatchMemory, WatchState or SymbolMemory, const or not.
template <typename Memory, typename Visit>
requires std::is_base_of_v<WatchStand, std::remove_const_t<Memory>>
void each_field(Memory& m, Visit&& visit) {
  visit("side", m.side), visit("armed", m.armed), visit("following", m.following), visit("told", m.told);
  visit("held", m.held), visit("away", m.away), visit("never_inside", m.never_inside);
  visit("loss_pending", m.loss_pending), visit("arrived_told", m.arrived_told), visit("faded_told", m.faded_told);
  visit("gains_told", m.gains_told);
  visit("weight_said", m.weight_said), visit("confirm_opened_over", m.confirm_opened_over);
  visit("confirm_trades", m.confirm_trades), visit("confirm_since", m.confirm_since);
  visit("crossing_time", m.crossing_time), visit("reached", m.reached), visit("counts", m.counts);
  if constexpr (std::is_base_of_v<WatchMemory, std::remove_const_t<Memory>>) {
    visit("day", m.day), visit("quiet_since", m.quiet_since), visit("silent", m.silent), visit("doubtful", m.doubtful),
        visit("release", m.release);
    visit("withdrawn", m.withdrawn), visit("muted_under", m.muted_under), visit("muted_until", m.muted_until);
    visit("bought", m.bought);
  }
  if constexpr (std::is_base_of_v<WatchState, std::remove_const_t<Memory>>) visit("past", m.past);
}

template <typename Print, typename Visit>
void each_field_of_print(std::array<std::string_view, 4> names, Print& print, Visit&& visit) {
  visit(names[0], print.price), visit(names[1], print.time), visit(names[2], print.trade);
  visit(names[3], print.exchange);
}

template <typename Memory, typename Visit>
requires std::is_base_of_v<SymbolMemory, std::remove_const_t<Memory>>
void each_field(Memory& m, Visit&& visit) {
  visit("day", m.day), visit("last_time", m.last_time), visit("newest_outside", m.newest_outside);
  visit("newest_before", m.newest_before), visit("behind", m.behind), visit("behind_newest", m.behind_newest);
  visit("newest_bar", m.newest_bar), visit("last", m.last), visit("last_exchange", m.last_exchange),
      visit("heard_by", m.heard_by);
  each_field_of_print({"print_prices", "print_times", "print_trades", "print_exchanges"}, m.prints, visit);
  visit("print_at", m.print_at);
  each_field_of_print({"day_open", "open_time", "open_trade", "open_exchange"}, m.opening, visit);
  each_field_of_print({"highs", "high_times", "high_trades", "high_exchanges"}, m.highs, visit);
  each_field_of_print({"lows", "low_times", "low_trades", "low_exchanges"}, m.lows, visit);
  each_field_of_print({"close", "close_time", "close_trade", "close_exchange"}, m.closing, visit);
  each_field_of_print({"held", "held_time", "held_trade", "held_exchange"}, m.held, visit);
  visit("high_floor", m.high_floor), visit("low_ceiling", m.low_ceiling), visit("closing_size", m.closing_size);
  visit("previous_close", m.previous_close), visit("in_hole", m.in_hole), visit("ended", m.ended),
      visit("opening_seen", m.opening_seen);
  visit("held_received", m.held_received), visit("held_size", m.held_size), visit("so_far", m.so_far),
      visit("minute", m.minute);
  visit("quarter_volume", m.quarter_volume), visit("outside_volume", m.outside_volume);
  visit("day_volume_base", m.day_volume_base), visit("day_volume_unclear", m.day_volume_unclear);
  visit("knot_volume", m.knot_volume), visit("knots", m.knots);
  visit("unheard", m.unheard.count), visit("unheard_from", m.unheard.from), visit("unheard_to", m.unheard.to);
  visit("healed", m.healed.count), visit("healed_from", m.healed.from), visit("healed_to", m.healed.to);
  visit("missed_minutes", m.missed_minutes), visit("missed_from", m.missed_from), visit("missed_to", m.missed_to);
  visit("missed_share", m.missed_share), visit("blind_share", m.blind_share), visit("halted_for", m.halted_for);
  visit("halted_since", m.halted_since), visit("before_halt", m.before_halt), visit("halt_told", m.halt_told);
  visit("resuming", m.resuming), visit("trades", m.trades), visit("recent_trades", m.recent_trades);
  visit("recent_at", m.recent_at), visit("judge_volume", m.judge_volume), visit("judge_time", m.judge_time);
  visit("all_kept_until", m.all_kept_until);
}

/// One symbol's day, written at its end.
struct DayRecord {
  Date day;
  std::string symbol;
  Shares volume;        ///< as the feed carried it
  double coverage = 1;  ///< share of the session's expected volume that the feed was up for, healed holes left out
  Price open{}, high{}, low{}, close{};
  bool half_day = false;
  std::array<double, 24> knots{};  ///< ln of the cumulative share at the model's knots, NaN where not known
};

/// A span in which a feed was blind.
struct Hole {
  std::string feed;    ///< name of the feed
  std::string symbol;  ///< empty: all symbols
  Timestamp from, to;
  std::string why;
};

}  // namespace brimwatch
