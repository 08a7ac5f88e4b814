#include "live/feed_set.h"

#include <algorithm>

#include "adapters/feeds/rehearsal_clock.h"

namespace brimwatch {
namespace {

std::string_view word(FeedState state) {
  switch (state) {
    case FeedState::stopped:
      return "stopped";
    case FeedState::connecting:
      return "connecting";
    case FeedState::up:
      return "up";
    case FeedState::down:
      return "down";
    case FeedState::ended:
      return "ended";
  }
  return "unknown";
}

std::optional<std::size_t> named(const std::string& name, const std::vector<FeedSettings>& feeds) {
  const auto at = std::find_if(feeds.begin(), feeds.end(), [&](const FeedSettings& feed) { return feed.name == name; });
  return at == feeds.end() ? std::nullopt : std::optional(static_cast<std::size_t>(at - feeds.begin()));
}

/// Everything that may be wrong with a feed, counted; the names are those of the metrics.
std::vector<std::pair<std::string_view, std::uint64_t>> recognised(const FeedHealth& health, const HealthCounts& counts) {
  const ScreenCounts& screen = counts.screen;
  return {{"unknown_kind", health.unknown},
          {"unwatched", health.unwatched},
          {"number_gaps", health.gaps},
          {"repeated", screen.repeated},
          {"disordered", screen.disordered},
          {"crossed_quotes", screen.crossed},
          {"absurd", screen.absurd},
          {"in_the_future", screen.future},
          {"unchanged_snapshots", screen.unchanged},
          {"silences", counts.silences},
          {"late_runs", counts.late_runs},
          {"holes", counts.holes},
          {"clock_steps", counts.clock_steps},
          {"symbol_silences", counts.symbol_silences}};
}

}  // namespace

/// One feed with its ear: says which of the feeds is speaking.
struct FeedSet::Line : public FeedListener {
  Line(FeedSettings with, FeedSet& to) : settings(std::move(with)), owner(to), clock(settings.rehearsal) {}

  /// A past day that is played has a clock of its own, which the times of receipt show.
  [[nodiscard]] Instant now() const {
    Instant now = owner.now();
    if (clock.started()) now.wall = clock.at(now.steady);
    return now;
  }

  void on_ticks(std::span<const Tick> ticks) override {
    if (ticks.empty()) return;
    heard = owner.world_.steady();
    if (ticks.back().received.is_set() && ticks.back().time.is_set()) lag = ticks.back().received - ticks.back().time;
    owner.merge_->on_ticks(index, ticks, now(), owner.merged_);
    owner.hand_on();
  }
  void on_state(FeedState state, std::string_view text) override {
    owner.merge_->on_state(index, state, text, now(), owner.merged_);
    owner.hand_on();
    owner.events_.state(index, now().wall, state, text);
  }
  void on_frame(Timestamp received, std::string_view bytes) override {
    if (clock.is_on()) clock.start(received, owner.world_.steady());
    owner.merge_->on_life(index, now());
    owner.events_.frame(index, received, bytes);
  }
  void on_remark(std::string_view text) override {
    owner.events_.event({FeedEvent::Kind::remark, index, kNoSymbol, {}, {}, std::string(text)});
  }
  void on_refusal(std::string_view text) override { owner.merge_->on_refusal(index, text); }

  FeedSettings settings;
  FeedSet& owner;
  std::size_t index = 0;
  Nanos heard = 0;
  Nanos lag = -1;
  RehearsalClock clock;
  std::unique_ptr<Feed> feed;
};

FeedSet::FeedSet(World world, Events events) : world_(std::move(world)), events_(std::move(events)) {}
FeedSet::~FeedSet() { stop(); }

void FeedSet::set(const std::vector<FeedSettings>& feeds, const std::vector<std::string>& symbols) {
  stop_others_than(feeds);
  std::vector<std::unique_ptr<Line>> lines;
  std::vector<Failover::Origin> origins;
  const std::vector<FeedSettings> old = merged_settings_;
  for (const FeedSettings& settings : feeds) {
    if (!settings.enabled) continue;
    const auto same =
        std::find_if(lines_.begin(), lines_.end(), [&](const auto& line) { return line && line->settings == settings; });
    if (same != lines_.end()) {
      origins.push_back({(*same)->index, std::nullopt});
      lines.push_back(std::move(*same));
    } else if (auto line = make_line(settings)) {
      origins.push_back({std::nullopt, named(settings.name, old)});
      lines.push_back(std::move(line));
    }
  }
  lines_ = std::move(lines);
  std::vector<FeedSettings> in_force;
  for (const auto& line : lines_) in_force.push_back(line->settings);
  if (!merge_ || in_force != merged_settings_) {
    auto merge = std::make_unique<FeedMerge>(in_force);
    if (merge_) merge->take_over(std::move(*merge_), origins);
    merge_ = std::move(merge);
    merged_settings_ = in_force;
  }
  for (std::size_t i = 0; i < lines_.size(); ++i) lines_[i]->index = i;
  for (const auto& line : lines_) {
    line->feed->subscribe(symbols);
    if (line->feed->health().state == FeedState::stopped) line->feed->start(*line);
  }
}

std::unique_ptr<FeedSet::Line> FeedSet::make_line(const FeedSettings& settings) {
  auto line = std::make_unique<Line>(settings, *this);
  auto feed = world_.make(settings);
  if (!feed) {
    world_.log(LogLevel::error, "feed " + settings.name + ": " + feed.error().text + "; it is left out");
    return nullptr;
  }
  line->feed = std::move(*feed);
  return line;
}

/// While all lines are still in their places: what a feed says as it stops is said of them.
void FeedSet::stop_others_than(const std::vector<FeedSettings>& feeds) {
  for (const auto& line : lines_) {
    const bool stays = std::any_of(feeds.begin(), feeds.end(), [&](const FeedSettings& settings) {
      return settings.enabled && settings == line->settings;
    });
    if (!stays) line->feed->stop();
  }
}

const FeedSettings& FeedSet::settings(std::size_t feed) const { return lines_[feed]->settings; }

void FeedSet::stop() {
  for (const auto& line : lines_) line->feed->stop();
}

/// Ticks first, then what there is to say. What a listener does may call in here again, so the list is taken over.
void FeedSet::hand_on() {
  Merged out;
  std::swap(out, merged_);
  if (!out.ticks.empty()) events_.ticks(out.ticks);
  for (const FeedEvent& event : out.events) {
    if (event.kind == FeedEvent::Kind::reconnect) restart(event.feed);
    else events_.event(event);
  }
}

void FeedSet::restart(std::size_t feed) {
  if (feed >= lines_.size() || is_standard_input(lines_[feed]->settings)) return;
  lines_[feed]->feed->stop();
  lines_[feed]->feed->start(*lines_[feed]);
}

void FeedSet::on_time(bool in_session) {
  if (!merge_) return;
  merge_->on_time(now(), in_session, merged_);
  hand_on();
}

std::vector<FeedRow> FeedSet::rows() const {
  std::vector<FeedRow> rows;
  for (const auto& line : lines_) {
    const FeedHealth health = line->feed->health();
    FeedRow row;
    row.name = line->settings.name;
    row.kind = line->settings.kind;
    row.state = word(health.state);
    row.text = health.text;
    row.ticks = health.ticks;
    row.malformed = health.malformed;
    row.reconnects = health.reconnects;
    row.carrying = merge_->speaks(line->index) && merge_->carries(line->index);
    if (line->lag >= 0) row.lag_seconds = static_cast<double>(line->lag) / 1e9;
    if (line->heard > 0) row.silent_seconds = static_cast<double>(world_.steady() - line->heard) / 1e9;
    row.example = health.example;
    row.unknown_codes = health.unknown_codes;
    row.recognised = recognised(health, merge_->counts(line->index));
    rows.push_back(std::move(row));
  }
  return rows;
}

}  // namespace brimwatch
