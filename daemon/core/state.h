#pragma once
// What has to survive a restart: the engine's state in a form that the journal keeps. Names, not ids, so that it means
// the same in the next process.
#include <array>
#include <cstdint>
#include <string>
#include <type_traits>

#include "core/notice.h"

namespace brimwatch {

/// What a watch remembers: plain numbers, the same in the engine and in the journal.
struct WatchMemory {
  Date day;  ///< trade date that `counts` and `silent` belong to
  Side side = Side::unknown;
  bool armed = true;       ///< a crossing counts
  bool following = false;  ///< a crossing has been, and "fell under" has not yet been reached
  bool told = false;       ///< that crossing was told; what follows an untold one is not told either, but the loss limit
  bool loss_pending = false;                      ///< a crossing has been, and the loss limit has not been told since
  bool arrived_told = false, faded_told = false;  ///< for the present crossing
  bool silent = false;                            ///< nothing more today: the price looks like a split
  Weight weight_said = Weight::unknown;           ///< the last judgement that was told: at the crossing, arrived or faded
  std::uint16_t confirm_trades = 0;  ///< trades in a row at or above the pivot, while a crossing awaits confirmation
  bool confirm_opened_over = false;  ///< the first of them opened the day above the range
  char crossing_exchange = 0;        ///< of the trade below; here it takes no room of its own
  Timestamp confirm_since;
  Timestamp reached;  ///< the day's first price at or above the pivot, from below: the open where it opened there
  Date quiet_since;   ///< first of the sessions in a row, up to yesterday, that were heard and did not reach the pivot
  std::uint64_t crossing_trade = 0;  ///< the trade behind the last crossing
  Price crossing_price;
  Timestamp crossing_time;
  Side event_side = Side::unknown;  ///< what stood before the last thing that happened, with the trade behind it: for the
                                    ///< case that the trade is cancelled
  bool event_armed = true, event_following = false, event_loss_pending = false;
  char event_exchange = 0;
  std::uint64_t event_trade = 0;
  Price event_price;
  Timestamp event_time;                              ///< not set: nothing to take back
  std::array<std::uint16_t, kNoticeKinds> counts{};  ///< what happened on `day`, by kind

  bool operator==(const WatchMemory&) const = default;
};

/// State of one watch. Key: symbol and pivot.
struct WatchState : WatchMemory {
  std::string symbol;
  Price pivot;

  bool operator==(const WatchState&) const = default;
};

/// What is remembered of a symbol's day.
struct SymbolMemory {
  Date day;
  std::uint8_t recent_at = 0;  ///< where in recent_trades the next one goes
  std::uint8_t knots = 0;      ///< how many of the model's curve have been passed
  bool in_hole = false;        ///< the feed was blind since `last`
  char last_exchange = 0;
  Price before;  ///< the eligible price before `last`
  Price day_high, day_low;
  std::uint64_t last_trade = 0;
  Timestamp last_price_time;  ///< of the trade that made `last`
  std::uint64_t trades = 0;
  Timestamp judge_time;                          ///< waiting watches are judged again then, or at judge_volume
  std::array<std::uint64_t, 8> recent_trades{};  ///< ring of the last ids with their exchange, against duplicates
  // What stands above fills two cache lines; a trade writes nothing below.
  Shares judge_volume;
  Timestamp last_time;       ///< exchange time of the newest trade taken
  Timestamp newest_outside;  ///< the same of trades outside the session
  Price last;                ///< the last eligible price of the day
  Price day_open;
  Price close;                ///< of the closing print; 0 until it comes
  Price previous_close;       ///< of the session before
  bool ended = false;         ///< the day has been closed and told
  bool opening_seen = false;  ///< the opening print has come
  Price held;                 ///< a price that the print guard holds until a second one confirms it; 0: none
  Timestamp held_time;
  std::uint64_t held_trade = 0;
  char held_exchange = 0;
  Shares so_far;                                              ///< eligible volume of the day
  std::int32_t minute = -1;                                   ///< the newest minute of the session that `so_far` knows
  std::array<std::int64_t, 36> quarter_volume{};              ///< by quarter-hour since the open, micros
  double missed_minutes = 0, missed_from = 0, missed_to = 0;  ///< of the session, not carried by the feed; as one stretch
  double missed_share = 0;                                    ///< of the day's usual volume, in those minutes
  double healed_share = 0;                     ///< the same of holes whose volume is known by now, but not when it came
  Nanos halted_for = 0;                        ///< halts of the day that are over
  Timestamp halted_since;                      ///< the halt under way
  std::array<std::int64_t, 24> knot_volume{};  ///< so_far when each of them was passed, micros

  bool operator==(const SymbolMemory&) const = default;
};

/// State of one symbol's day. Key: symbol.
struct SymbolState : SymbolMemory {
  std::string symbol;

  bool operator==(const SymbolState&) const = default;
};

/// Calls visit(name, field) for every field, in a fixed order: for whoever keeps, prints or compares states by name, so
/// that a new field needs no change there. `Memory` is WatchMemory or SymbolMemory, const or not.
template <typename Memory, typename Visit>
requires std::is_base_of_v<WatchMemory, std::remove_const_t<Memory>>
void each_field(Memory& m, Visit&& visit) {
  visit("day", m.day), visit("side", m.side), visit("armed", m.armed), visit("following", m.following);
  visit("told", m.told), visit("loss_pending", m.loss_pending), visit("arrived_told", m.arrived_told);
  visit("faded_told", m.faded_told), visit("silent", m.silent), visit("weight_said", m.weight_said);
  visit("confirm_trades", m.confirm_trades), visit("confirm_opened_over", m.confirm_opened_over);
  visit("confirm_since", m.confirm_since), visit("crossing_trade", m.crossing_trade);
  visit("crossing_price", m.crossing_price), visit("crossing_time", m.crossing_time);
  visit("event_side", m.event_side), visit("event_armed", m.event_armed), visit("event_following", m.event_following);
  visit("event_loss_pending", m.event_loss_pending), visit("event_trade", m.event_trade);
  visit("event_price", m.event_price), visit("event_time", m.event_time), visit("counts", m.counts);
  visit("crossing_exchange", m.crossing_exchange), visit("event_exchange", m.event_exchange);
  visit("reached", m.reached), visit("quiet_since", m.quiet_since);
}

template <typename Memory, typename Visit>
requires std::is_base_of_v<SymbolMemory, std::remove_const_t<Memory>>
void each_field(Memory& m, Visit&& visit) {
  visit("day", m.day), visit("last_time", m.last_time), visit("newest_outside", m.newest_outside), visit("last", m.last),
      visit("before", m.before);
  visit("day_open", m.day_open), visit("day_high", m.day_high), visit("day_low", m.day_low), visit("close", m.close);
  visit("previous_close", m.previous_close), visit("last_trade", m.last_trade);
  visit("last_price_time", m.last_price_time), visit("last_exchange", m.last_exchange), visit("in_hole", m.in_hole);
  visit("ended", m.ended), visit("held", m.held), visit("held_time", m.held_time), visit("held_trade", m.held_trade);
  visit("held_exchange", m.held_exchange), visit("so_far", m.so_far);
  visit("minute", m.minute), visit("quarter_volume", m.quarter_volume);
  visit("knot_volume", m.knot_volume), visit("knots", m.knots), visit("missed_minutes", m.missed_minutes),
      visit("missed_from", m.missed_from);
  visit("missed_to", m.missed_to), visit("missed_share", m.missed_share), visit("healed_share", m.healed_share),
      visit("halted_for", m.halted_for);
  visit("halted_since", m.halted_since), visit("trades", m.trades), visit("recent_trades", m.recent_trades);
  visit("recent_at", m.recent_at), visit("judge_volume", m.judge_volume), visit("judge_time", m.judge_time);
  visit("opening_seen", m.opening_seen);
}

/// What a day came to for one symbol, written at its end.
struct DayRecord {
  Date day;
  std::string symbol;
  Shares volume;        ///< as the feed carried it
  double coverage = 1;  ///< share of the session's expected volume that the feed was up for, healed holes left out
  Price open, high, low, close;
  bool half_day = false;
  std::array<double, 24> knots{};  ///< ln of the cumulative share at the model's knots, NaN where not known
};

/// A time in which a feed was blind.
struct Hole {
  std::string feed;    ///< name of the feed
  std::string symbol;  ///< empty: all symbols
  Timestamp from, to;
  std::string why;
};

}  // namespace brimwatch
