#include "adapters/feeds/merge.h"

#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>

#include "core/wording.h"

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

/// What a stand-by keeps lasts until the longest silence of any of them is over, and the longest delay is found out.
Failover::Limits limits_of(const std::vector<FeedSettings>& feeds) {
  Failover::Limits limits;
  for (const FeedSettings& feed : feeds)
    limits.kept_for = std::max({limits.kept_for, nanos(feed.late_after) + kBeyondSilence,
                                HealthMonitor::longest_silence(nanos(feed.silent_after)) + kBeyondSilence});
  return limits;
}

}  // namespace

bool has_standard_input() {
  struct stat here {
  }, nothing{};
  if (::fstat(STDIN_FILENO, &here) != 0) return false;
  return ::stat("/dev/null", &nothing) != 0 || !S_ISCHR(here.st_mode) || here.st_rdev != nothing.st_rdev;
}

FeedMerge::FeedMerge(const std::vector<FeedSettings>& feeds, const PastDayOf& past_day_of)
    : failover_(stand_bys(feeds), limits_of(feeds)), comparison_(failover_.groups()), worths_(feeds.size()) {
  for (std::size_t i = 0; i < feeds.size(); ++i) {
    names_.push_back(feeds[i].name);
    patience_.push_back(nanos(feeds[i].silent_after));
    monitors_.emplace_back(i,
                           HealthLimits{nanos(feeds[i].silent_after), nanos(feeds[i].late_after),
                                        !is_standard_input(feeds[i]), feeds[i].kind == "poll"},
                           feeds[i].past_days == "tell" ? PastDayOf() : past_day_of);
  }
}

void FeedMerge::take_over(FeedMerge&& old, const std::vector<Failover::Origin>& origins) {
  for (std::size_t i = 0; i < origins.size(); ++i) {
    if (!origins[i].same) continue;
    monitors_[i] = std::move(old.monitors_[*origins[i].same]);
    monitors_[i].renumber(i);
    comparison_.take_over(i, old.comparison_, *origins[i].same);
  }
  failover_.take_over(std::move(old.failover_), origins);
}

void FeedMerge::on_ticks(std::size_t feed, std::span<const Tick> ticks, Instant now, Merged& out) {
  clean_.clear();
  const std::size_t events = out.events.size();
  const Failover::Worth before = worth(feed);
  monitors_[feed].on_ticks(ticks, now, clean_, out.events);
  for (Tick& tick : clean_) tick.feed = static_cast<std::uint8_t>(feed);
  settle_events(events, out);
  compare(feed, now);
  failover_.on_ticks(feed, clean_, now.steady, out.ticks);
  if (worth(feed) == before) return;
  look_for_change(now, out);
  say_who_carries_on(events, out);
}

void FeedMerge::on_state(std::size_t feed, FeedState state, std::string_view text, Instant now, Merged& out) {
  monitors_[feed].on_state(state, text, now);
  comparison_.forgive(feed);
  look_for_change(now, out);
}

void FeedMerge::on_time(Instant now, bool in_session, Merged& out) {
  const std::size_t events = out.events.size();
  for (HealthMonitor& monitor : monitors_) monitor.on_time(now, in_session, out.events);
  look_for_stopped(now, out);
  settle_events(events, out);
  if (now.steady < next_look_ && out.events.size() == events) return;
  next_look_ = now.steady + kSecond;
  look_for_change(now, out);
  say_who_carries_on(events, out);
}

void FeedMerge::compare(std::size_t feed, Instant now) {
  if (!monitors_[feed].is_in_session()) return comparison_.forgive(feed);
  const auto shows = [](const Tick& tick) {
    return tick.kind == TickKind::trade || tick.kind == TickKind::bar || tick.kind == TickKind::day;
  };
  if (std::any_of(clean_.begin(), clean_.end(), shows)) comparison_.on_trades(feed, now.steady);
}

/// One that rarely trades is silent only after many minutes; what another gives meanwhile shows it much sooner.
void FeedMerge::look_for_stopped(Instant now, Merged& out) {
  for (std::size_t i = 0; i < monitors_.size(); ++i) {
    const FeedComparison::Behind* const behind = comparison_.stopped(i, now.steady, patience_[i]);
    if (behind == nullptr || !monitors_[behind->other].carries()) continue;
    monitors_[i].find_stopped(now,
                              "connected, but no data for " + span_text(now.steady - behind->since) + ", while " +
                                  names_[behind->other] + " goes on",
                              out.events);
  }
}

/// What is told of one that has given way is not what a person has to fear of a lone one.
void FeedMerge::say_who_carries_on(std::size_t from, Merged& out) {
  for (std::size_t i = from; i < out.events.size(); ++i) {
    FeedEvent& event = out.events[i];
    const bool is_trouble = event.kind == FeedEvent::Kind::silent || event.kind == FeedEvent::Kind::late;
    const std::size_t speaker = failover_.speaker(event.feed);
    if (!is_trouble || speaker == event.feed || !monitors_[speaker].carries()) continue;
    if (event.kind == FeedEvent::Kind::late) event.text.erase(std::min(event.text.find(';'), event.text.size()));
    event.text += "; " + names_[speaker] + " carries on";
  }
}

Failover::Worth FeedMerge::worth(std::size_t feed) const {
  if (!monitors_[feed].carries()) return Failover::Worth::nothing;
  return monitors_[feed].is_late() ? Failover::Worth::late : Failover::Worth::carries;
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
  for (std::size_t i = 0; i < monitors_.size(); ++i) worths_[i] = worth(i);
  for (const auto& change : failover_.on_health(worths_, now.steady, out.ticks)) {
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
