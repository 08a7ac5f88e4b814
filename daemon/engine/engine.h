#pragma once
// Ticks in, notices out. One thread, no I/O, no wall clock, no log; no allocation on a tick. The engine's time is the
// ticks' own; on_time only tells it how late it is by the clock outside (live) or by the tape's (replay).
#include <cstdint>
#include <functional>
#include <memory>
#include <span>
#include <vector>

#include "core/notice.h"
#include "core/state.h"
#include "core/symbols.h"
#include "core/tick.h"
#include "core/watch.h"
#include "session/calendar.h"
#include "volume/history.h"

namespace brimwatch {

struct EngineOptions {
  Trend trend = Trend::unknown;
  WhenDown when_down = WhenDown::mark;
  Nanos late_after = 60 * kSecond;  ///< data older than this marks its notices as delayed
  bool extended_volume = false;
};

class NoticeSink {
 public:
  virtual ~NoticeSink() = default;
  virtual void on_notice(Notice&& notice) = 0;
  /// The day of a symbol is over (close + 10 minutes).
  virtual void on_day(const DayRecord&) {}
};

/// What the world outside must know to give the engine a day's plan; called once a symbol and day, at its first tick.
using PlanSource = std::function<DayPlan(SymbolId symbol, std::uint32_t watch, const Session& session)>;

struct EngineCounters {
  std::uint64_t ticks = 0, trades = 0, eligible = 0, volume_only = 0, ignored = 0;
  std::uint64_t held_as_bad = 0, confirmed = 0;  ///< by the print guard
  std::uint64_t out_of_order = 0, duplicates = 0, unknown_conditions = 0, absurd = 0, corrections = 0, unmatched_corrections = 0;
};

/// For status pages and `now`.
struct WatchView {
  std::uint32_t watch = 0;
  Side side = Side::unknown;
  bool armed = true;
  Price last, day_high;
  Timestamp last_time;
  VolumeView volume;
};

class Engine {
 public:
  Engine(EngineOptions options, SymbolTable& symbols, PlanSource plans);
  ~Engine();
  Engine(const Engine&) = delete;
  Engine& operator=(const Engine&) = delete;

  /// Puts a new list in force. Watches with the same symbol and pivot keep their state; the order gives the indices.
  /// `calendars[i]` is the calendar of watches[i]. Allocates.
  void set_watches(const std::vector<Watch>& watches, const std::vector<std::shared_ptr<const Calendar>>& calendars);
  void set_market(Trend trend, WhenDown when_down);

  void on_ticks(std::span<const Tick> ticks, NoticeSink& sink);
  /// Moves the clock: ends days (close + 10 minutes) for which no tick came any more.
  void on_time(Timestamp now, NoticeSink& sink);

  /// State of everything that changed since the last call, for the journal; and of everything.
  void take_changed(std::vector<WatchState>& watches, std::vector<SymbolState>& symbols);
  [[nodiscard]] std::vector<WatchState> watch_states() const;
  [[nodiscard]] std::vector<SymbolState> symbol_states() const;
  /// Puts kept state back, before the first tick. States of watches that are not in the list are left out.
  void restore(std::span<const WatchState> watches, std::span<const SymbolState> symbols);

  [[nodiscard]] WatchView view(std::uint32_t watch, Timestamp now) const;
  [[nodiscard]] EngineCounters counters() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace brimwatch
