#include "adapters/feeds/merge.h"

#include <algorithm>

namespace brimwatch {
namespace {

std::vector<std::optional<std::size_t>> stand_bys(const std::vector<FeedSettings>& feeds) {
  std::vector<std::optional<std::size_t>> out(feeds.size());
  for (std::size_t i = 0; i < feeds.size(); ++i) {
    if (feeds[i].standby_for.empty()) continue;
    for (std::size_t j = 0; j < feeds.size(); ++j) {
      // A stand-by of a stand-by would have nobody to ask: only a primary counts.
      if (j != i && feeds[j].name == feeds[i].standby_for && feeds[j].standby_for.empty()) out[i] = j;
    }
  }
  return out;
}

Nanos nanos(std::chrono::seconds span) { return span.count() * kSecond; }

constexpr Nanos kBeyondSilence = 30 * kSecond;  ///< what was on its way when it was found out
static_assert(Failover::Limits{}.kept_for >=
              HealthMonitor::longest_silence(HealthLimits{}.silent_after) + kBeyondSilence);

/// What a stand-by keeps lasts until the longest silence of any of them is over.
Failover::Limits limits_of(const std::vector<FeedSettings>& feeds) {
  Failover::Limits limits;
  for (const FeedSettings& feed : feeds)
    limits.kept_for =
        std::max(limits.kept_for, HealthMonitor::longest_silence(nanos(feed.silent_after)) + kBeyondSilence);
  return limits;
}

}  // namespace

FeedMerge::FeedMerge(const std::vector<FeedSettings>& feeds)
    : failover_(stand_bys(feeds), limits_of(feeds)), carries_(feeds.size()) {
  for (std::size_t i = 0; i < feeds.size(); ++i) {
    names_.push_back(feeds[i].name);
    monitors_.emplace_back(
        i, HealthLimits{nanos(feeds[i].silent_after), nanos(feeds[i].late_after), !is_standard_input(feeds[i])});
  }
}

void FeedMerge::take_over(FeedMerge&& old, const std::vector<Failover::Origin>& origins) {
  for (std::size_t i = 0; i < origins.size(); ++i) {
    if (!origins[i].same) continue;
    monitors_[i] = std::move(old.monitors_[*origins[i].same]);
    monitors_[i].renumber(i);
  }
  failover_.take_over(std::move(old.failover_), origins);
}

void FeedMerge::on_ticks(std::size_t feed, std::span<const Tick> ticks, Instant now, Merged& out) {
  clean_.clear();
  const std::size_t events = out.events.size();
  const bool carried = monitors_[feed].carries();
  monitors_[feed].on_ticks(ticks, now, clean_, out.events);
  for (Tick& tick : clean_) tick.feed = static_cast<std::uint8_t>(feed);
  settle_events(events, out);
  failover_.on_ticks(feed, clean_, out.ticks);
  if (!carried) look_for_change(now, out);
}

void FeedMerge::on_state(std::size_t feed, FeedState state, std::string_view text, Instant now, Merged& out) {
  monitors_[feed].on_state(state, text, now);
  look_for_change(now, out);
}

void FeedMerge::on_time(Instant now, bool in_session, Merged& out) {
  const std::size_t events = out.events.size();
  for (HealthMonitor& monitor : monitors_) monitor.on_time(now, in_session, out.events);
  settle_events(events, out);
  if (now.steady < next_look_ && out.events.size() == events) return;
  next_look_ = now.steady + kSecond;
  look_for_change(now, out);
}

/// Of what the monitors say, holes of a feed that does not speak are no holes of the stream.
void FeedMerge::settle_events(std::size_t from, Merged& out) {
  const auto unheard = [this](const FeedEvent& event) {
    return event.kind == FeedEvent::Kind::hole && !failover_.speaks(event.feed);
  };
  out.events.erase(std::remove_if(out.events.begin() + static_cast<std::ptrdiff_t>(from), out.events.end(), unheard),
                   out.events.end());
}

void FeedMerge::look_for_change(Instant now, Merged& out) {
  for (std::size_t i = 0; i < monitors_.size(); ++i) carries_[i] = monitors_[i].carries();
  for (const auto& change : failover_.on_health(carries_, now.steady, out.ticks)) {
    FeedEvent told{FeedEvent::Kind::changed,
                   change.to,
                   kNoSymbol,
                   {},
                   {},
                   "now listening to " + names_[change.to] + " instead of " + names_[change.from]};
    out.events.push_back(std::move(told));
    if (!change.hole) continue;
    FeedEvent hole{FeedEvent::Kind::hole,
                   change.to,
                   kNoSymbol,
                   change.hole->time,
                   change.hole->received,
                   "between " + names_[change.from] + " and " + names_[change.to]};
    out.events.push_back(std::move(hole));
  }
}

}  // namespace brimwatch
