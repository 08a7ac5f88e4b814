#pragma once
// Ticks in, notices out. One thread, no I/O, no wall clock, no log; no allocation on a tick. The engine's time is the
// ticks' own; on_time only tells it how late it is by the clock outside (live) or by the tape's (replay).
//
// What moves a level: a trade of regular hours that is eligible for the consolidated last (eligibility.h), in order (at
// most two seconds older than the newest of its symbol), and not held by the print guard; the `day` snapshot's price; a
// bar's low, high and close. What happens then: sides.h. What counts for the day's volume: every trade of regular hours
// whose sale condition adds volume, however late it comes, and the closing print (code 6 of the listing market) until ten
// minutes after the close. Real daily bars are made like that. EngineOptions::extended_volume adds what trades outside
// regular hours, until the day's end. A price more than Rules::bad_print from the last one (at the open: from the
// previous close), and by more than two ticks, waits until the tape agrees within half the bound: an eligible trade, an
// odd lot or a quote, within fifteen seconds where others come between; what comes later counts alone, and what nothing
// bears out moves nothing (its volume stays). An auction's print needs no second. A bar is stamped with its end and
// counts for the minute before it. `hole` says that nothing was heard from `time` to `received`: whoever starts to feed
// in mid-session says so with a hole from the open.
#include <cstdint>
#include <functional>
#include <memory>
#include <span>
#include <string_view>
#include <utility>
#include <vector>

#include "core/notice.h"
#include "core/state.h"
#include "core/symbols.h"
#include "core/tick.h"
#include "core/watch_list.h"
#include "session/calendar.h"
#include "volume/history.h"

namespace brimwatch {

struct EngineOptions {
  Trend trend = Trend::unknown;
  WhenDown when_down = WhenDown::mark;
  Nanos late_after = 60 * kSecond;  ///< data older than this marks its notices as delayed
  bool extended_volume = false;
  DayVolumeIncludes day_volume_includes = DayVolumeIncludes::unknown;
};

/// A stock that its user holds by one of the watches. Prices in today's terms: a split since has been taken into account.
struct HeldWatch {
  std::string symbol;
  Price pivot;      ///< as the list has it: which watch
  Price pivot_now;  ///< the same after the splits
  Price bought;     ///< what was paid
  bool operator==(const HeldWatch&) const = default;
};

class NoticeSink {
 public:
  virtual ~NoticeSink() = default;
  virtual void on_notice(Notice&& notice) = 0;
  /// The day of a symbol is over (close + 10 minutes).
  virtual void on_day(const DayRecord&) {}
};

/// What is needed to give the engine a day's plan; asked once a symbol and day, at its first tick.
using PlanSource = std::function<DayPlan(SymbolId symbol, std::uint32_t watch, const Session& session)>;

struct EngineCounters {
  std::uint64_t ticks = 0, trades = 0, eligible = 0, volume_only = 0, ignored = 0;
  std::uint64_t held_as_bad = 0, confirmed = 0;  ///< by the print guard
  std::uint64_t out_of_order = 0, duplicates = 0, unknown_conditions = 0, absurd = 0, corrections = 0;
  std::uint64_t unmatched_corrections = 0;  ///< of nothing that was counted
  std::uint64_t notices = 0;                ///< told
  std::uint64_t not_told = 0;               ///< happened, but over per_day or after a crossing that was
  std::uint64_t held_back = 0;              ///< by when_down = "hold-back": in the journal only
  std::uint64_t ids_forgotten = 0;          ///< of trades, before their ten minutes were over: the table was too small

  /// Every counter with its name, for status pages and metrics.
  [[nodiscard]] std::vector<std::pair<std::string_view, std::uint64_t>> named() const;
  EngineCounters& operator+=(const EngineCounters& other);
};

/// For status pages and `now`.
struct WatchView {
  std::uint32_t watch = 0;
  Side side = Side::unknown;
  bool armed = true;
  Price last, day_high;
  Price held;                   ///< a price that the print guard holds; not set: none
  std::uint16_t crossings = 0;  ///< of the day, told or not
  bool silent = false;          ///< nothing more today: the price looks like a split
  bool doubtful = false;        ///< it looks like one, and that is said with everything
  bool halted = false;
  Timestamp last_time;
  Timestamp muted_until;  ///< not set: by no time
  bool muted_under = false;
  Price bought;      ///< not set: not held
  Price pivot_now;   ///< of a holding, after a split; else the pivot
  Price loss_limit;  ///< in force
  VolumeView volume;
};

struct BookDraft;

/// A list laid out for the engine, on any thread: most of the work of putting it in force.
class PreparedWatches {
 public:
  explicit PreparedWatches(const WatchList& watches);
  ~PreparedWatches();
  PreparedWatches(PreparedWatches&&) noexcept;
  PreparedWatches& operator=(PreparedWatches&&) noexcept;

 private:
  friend class Engine;
  std::unique_ptr<BookDraft> draft_;
};

class Engine {
 public:
  Engine(EngineOptions options, SymbolTable& symbols, PlanSource plans);
  ~Engine();
  Engine(const Engine&) = delete;
  Engine& operator=(const Engine&) = delete;

  /// Puts a new list in force. Watches with the same symbol and pivot keep their state, and so does one that left a list
  /// and comes back on the same day (departed.h); the order gives the indices.
  /// `calendars[i]` is the calendar of watches[i]. Allocates.
  void set_watches(const WatchList& watches, const std::vector<std::shared_ptr<const Calendar>>& calendars);
  /// The same for a list that was made ready elsewhere: what is left to do is small. `calendars[n]` is the calendar of
  /// watches.symbols()[n].
  void set_watches(PreparedWatches&& prepared, const WatchList& watches,
                   const std::vector<std::shared_ptr<const Calendar>>& calendars);
  void set_market(Trend trend, WhenDown when_down);
  /// All that are held; loss limit and gains of those are taken from `bought`. Whoever is not named is held no more. They
  /// stay in force over set_watches() and restore(). Allocates.
  void set_holdings(std::vector<HeldWatch> held);
  [[nodiscard]] const std::vector<HeldWatch>& holdings() const;
  /// Notices of that watch are marked as muted before `until`, and, `under_pivot`, until a price is under the pivot;
  /// neither ends the mute. The loss limit and the gains of a holding are told all the same. False: no such watch.
  bool mute(std::string_view symbol, Price pivot, Timestamp until, bool under_pivot);

  void on_ticks(std::span<const Tick> ticks, NoticeSink& sink);
  /// Moves the clock: ends days (close + 10 minutes) for which no tick came any more. `now` is on the feed's own clock:
  /// for a feed that is a quarter of an hour behind, a quarter of an hour before the wall's.
  void on_time(Timestamp now, NoticeSink& sink);

  /// State of everything that changed since the last call, for the journal; and of everything.
  void take_changed(std::vector<WatchState>& watches, std::vector<SymbolState>& symbols);
  /// The same in parts: of about `most` watches and symbols, those that changed first. True: all that had changed when
  /// the first part was asked for has been taken.
  [[nodiscard]] bool take_part_of_changed(std::size_t most, std::vector<WatchState>& watches,
                                          std::vector<SymbolState>& symbols);
  /// Of this symbol and its watches what has changed and not been taken; it counts as changed all the same.
  void add_changed_of(SymbolId symbol, std::vector<WatchState>& watches, std::vector<SymbolState>& symbols) const;
  [[nodiscard]] std::size_t changed() const;  ///< how many watches and symbols take_changed() would give, listed ones
  [[nodiscard]] std::vector<WatchState> watch_states() const;
  [[nodiscard]] std::vector<SymbolState> symbol_states() const;
  /// Puts kept state back, before the first tick. Watches that are not in the list may come back.
  void restore(std::span<const WatchState> watches, std::span<const SymbolState> symbols);

  /// Whose days that symbol's watches follow; nullptr: nobody watches it.
  [[nodiscard]] const Calendar* calendar_of(SymbolId symbol) const;
  [[nodiscard]] WatchView view(std::uint32_t watch, Timestamp now) const;
  [[nodiscard]] EngineCounters counters() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace brimwatch
