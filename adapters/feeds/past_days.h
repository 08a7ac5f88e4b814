#pragma once
// Leaves out what a source sends of a day that is over: it opens no session, is no sign that data come, and tells
// nothing. Judged before anything else of a tick is. Pure.
#include <cstdint>
#include <functional>
#include <optional>
#include <string>

#include "adapters/feeds/instant.h"
#include "core/tick.h"

namespace brimwatch {

/// The day that is over which a tick of `time` is of when it comes at `now`; empty: it is of the present.
using PastDayOf = std::function<std::optional<Date>(SymbolId, Timestamp time, Timestamp now)>;

class PastDays {
 public:
  /// Empty: nothing is left out.
  explicit PastDays(PastDayOf past_day_of = {}) : past_day_of_(std::move(past_day_of)) {}

  /// A hole is of the day on which it ends.
  [[nodiscard]] bool leaves_out(const Tick& tick, Instant now);

  /// One line for the log when the first tick of a run is left out, else empty. Once.
  [[nodiscard]] std::string take_news();
  /// One line for a person, else empty: its times go on like a clock, so that ours may be the one that is wrong. Once a
  /// run.
  [[nodiscard]] std::string take_doubt();
  /// The day of what came last, where it was left out.
  [[nodiscard]] std::optional<Date> day() const { return day_; }
  [[nodiscard]] std::uint64_t count() const { return count_; }

 private:
  void note_past(const Tick& tick, Date day, Instant now);
  void note_present();

  PastDayOf past_day_of_;
  std::uint64_t count_ = 0;
  std::optional<Date> day_;  ///< of the run that goes on
  Instant first_;            ///< exchange time of a tick, and when it came: since then its times have gone on like ours
  Timestamp newest_, now_;
  Nanos steady_ = 0;
  bool told_ = false, doubt_told_ = false;
};

}  // namespace brimwatch
