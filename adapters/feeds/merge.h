#pragma once
// Several feeds as one stream: each feed's ticks are screened and its health watched; of a primary and its stand-bys one
// speaks at a time, and one that stops or falls behind gives way to one that does not; what comes out is what the engine
// takes, hole ticks included. Pure: no clock, no I/O; the owner of the feeds hands in what they say and acts on the
// events.
//
// Use, on the loop's thread:
//   FeedMerge merge(specs);
//   a feed's on_ticks  -> merge.on_ticks(feed, ticks, now, out)   -> engine takes out.ticks, then tell out.events
//   a feed's on_frame  -> merge.on_life(feed, now)
//   a feed's on_state  -> merge.on_state(feed, state, text, now, out)
//   every 250 ms       -> merge.on_time(now, in_session, out)
#include <memory>
#include <string>
#include <vector>

#include "adapters/feeds/comparison.h"
#include "adapters/feeds/failover.h"
#include "adapters/feeds/health.h"
#include "config/settings.h"

namespace brimwatch {

/// Whether anything can come from standard input. A service manager gives /dev/null, whose end would be the end of the
/// daemon at once.
[[nodiscard]] bool has_standard_input();

/// Nobody can start it again.
[[nodiscard]] inline bool is_standard_input(const FeedSettings& feed) {
  return feed.kind == "pipe" && feed.command.empty();
}

/// Cleared by the caller, appended to by the merge. Ticks come before the events of the same call.
struct Merged {
  std::vector<Tick> ticks;
  std::vector<FeedEvent> events;

  void clear() {
    ticks.clear();
    events.clear();
  }
};

class FeedMerge {
 public:
  /// In the order of the feeds' numbers. A standby_for that names no feed of the list counts as none.
  /// `past_day_of`: of feeds that do not say past_days = "tell".
  explicit FeedMerge(const std::vector<FeedSettings>& feeds, const PastDayOf& past_day_of = {});
  /// A list that has changed: what is known of the feeds that stay, and who speaks. One origin a feed.
  void take_over(FeedMerge&& old, const std::vector<Failover::Origin>& origins);

  void on_ticks(std::size_t feed, std::span<const Tick> ticks, Instant now, Merged& out);
  void on_life(std::size_t feed, Instant now) { monitors_[feed].on_life(now); }
  /// The source refused something, though the connection stays.
  void on_refusal(std::size_t feed, std::string_view text) { monitors_[feed].on_refusal(text); }
  void on_unreadable(std::size_t feed, std::string_view text) { monitors_[feed].on_unreadable(text); }
  void on_state(std::size_t feed, FeedState state, std::string_view text, Instant now, Merged& out);
  void on_time(Instant now, bool in_session, Merged& out);
  void expect(const std::vector<ExpectedSymbol>& symbols, bool new_day, Instant now) {
    for (HealthMonitor& monitor : monitors_) monitor.expect(symbols, new_day, now);
  }

  [[nodiscard]] bool speaks(std::size_t feed) const { return failover_.speaks(feed); }  ///< its ticks go on
  [[nodiscard]] bool carries(std::size_t feed) const { return monitors_[feed].carries(); }
  [[nodiscard]] bool is_late(std::size_t feed) const { return monitors_[feed].is_late(); }
  [[nodiscard]] HealthCounts counts(std::size_t feed) const { return monitors_[feed].counts(); }

 private:
  void look_for_change(Instant now, Merged& out);
  void compare(std::size_t feed, Instant now);
  void look_for_stopped(Instant now, Merged& out);
  void say_who_carries_on(std::size_t from, Merged& out);
  [[nodiscard]] Failover::Worth worth(std::size_t feed) const;
  void settle_events(std::size_t from, Merged& out);

  std::vector<std::string> names_;
  std::vector<HealthMonitor> monitors_;
  Failover failover_;
  FeedComparison comparison_;
  std::vector<Nanos> patience_;
  std::vector<Tick> clean_;
  std::vector<Failover::Worth> worths_;
  Nanos next_look_ = 0;
};

}  // namespace brimwatch
