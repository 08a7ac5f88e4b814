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

/// A tape is for replays.
bool is_watched(const FeedSettings& feed) { return feed.enabled && feed.kind != "tape"; }

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
          {"of_past_days", counts.past_days},
          {"unchanged_snapshots", screen.unchanged},
          {"unheard_corrections", screen.unheard},
          {"silences", counts.silences},
          {"late_runs", counts.late_runs},
          {"holes", counts.holes},
          {"clock_steps", counts.clock_steps},
          {"symbol_silences", counts.symbol_silences},
          {"breaks", counts.breaks},
          {"unheard_symbols", counts.unheard}};
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

  /// At the time that a recording says of it, so that a replay finds the same holes to the nanosecond.
  [[nodiscard]] Instant as_recorded(Timestamp received) const {
    Instant at = now();
    if (received.is_set()) at.wall = received;
    return at;
  }

  void on_ticks(std::span<const Tick> ticks) override {
    if (ticks.empty()) return;
    heard = owner.world_.steady();
    if (ticks.back().received.is_set() && ticks.back().time.is_set())
      lag = std::max<Nanos>(ticks.back().received - ticks.back().time, 0);
    owner.merge_->on_ticks(index, ticks, as_recorded(frame_received), owner.merged_);
    owner.hand_on();
  }
  void on_state(FeedState state, std::string_view text) override {
    const Instant at = now();
    owner.merge_->on_state(index, state, text, at, owner.merged_);
    owner.hand_on();
    owner.events_.state(index, at.wall, state, text);
  }
  void on_frame(Timestamp received, std::string_view bytes) override {
    if (clock.is_on()) clock.start(received, owner.world_.steady());
    frame_received = received;
    owner.merge_->on_life(index, as_recorded(received));
    owner.events_.frame(index, received, bytes);
  }
  void on_remark(std::string_view text) override {
    owner.events_.event({FeedEvent::Kind::remark, index, kNoSymbol, {}, {}, std::string(text)});
  }
  void on_refusal(std::string_view text) override {
    owner.merge_->on_refusal(index, text);
    if (owner.events_.refusal) owner.events_.refusal(index, text);
  }
  void on_unreadable(std::string_view text) override { owner.merge_->on_unreadable(index, text); }

  FeedSettings settings;
  FeedSet& owner;
  std::size_t index = 0;
  Nanos heard = 0;
  Nanos lag = -1;
  Timestamp frame_received;  ///< of the newest frame
  RehearsalClock clock;
  std::unique_ptr<Feed> feed;
};

FeedSet::FeedSet(World world, Events events) : world_(std::move(world)), events_(std::move(events)) {}
FeedSet::~FeedSet() { stop(); }
FeedSet::Made::Made() = default;
FeedSet::Made::~Made() = default;
FeedSet::Made::Made(Made&&) noexcept = default;
FeedSet::Made& FeedSet::Made::operator=(Made&&) noexcept = default;

Result<FeedSet::Made> FeedSet::make(const std::vector<FeedSettings>& feeds) {
  Made made;
  for (const FeedSettings& settings : feeds) {
    const bool is_here =
        std::any_of(lines_.begin(), lines_.end(), [&](const auto& line) { return line->settings == settings; });
    if (!is_watched(settings) || is_here) continue;
    auto feed = world_.make(settings);
    if (!feed) return fail("feed " + settings.name + ": " + feed.error().text);
    made.lines_.push_back(std::make_unique<Line>(settings, *this));
    made.lines_.back()->feed = std::move(*feed);
  }
  return made;
}

std::unique_ptr<FeedSet::Line> FeedSet::take(Lines& lines, const FeedSettings& settings) {
  const auto found =
      std::find_if(lines.begin(), lines.end(), [&](const auto& line) { return line && line->settings == settings; });
  return found == lines.end() ? nullptr : std::move(*found);
}

void FeedSet::set(const std::vector<FeedSettings>& feeds, const std::vector<std::string>& symbols, Made made) {
  stop_others_than(feeds);
  Lines lines;
  std::vector<Failover::Origin> origins;
  const std::vector<FeedSettings> old = merged_settings_;
  for (const FeedSettings& settings : feeds) {
    if (auto same = take(lines_, settings)) {
      origins.push_back({same->index, std::nullopt});
      lines.push_back(std::move(same));
    } else if (auto line = take(made.lines_, settings)) {
      origins.push_back({std::nullopt, named(settings.name, old)});
      lines.push_back(std::move(line));
    }
  }
  lines_ = std::move(lines);
  std::vector<FeedSettings> in_force;
  for (const auto& line : lines_) in_force.push_back(line->settings);
  if (!merge_ || in_force != merged_settings_) {
    auto merge = std::make_unique<FeedMerge>(in_force, world_.past_day);
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

/// While all lines are still in their places: what a feed says as it stops is said of them.
void FeedSet::stop_others_than(const std::vector<FeedSettings>& feeds) {
  for (const auto& line : lines_) {
    const bool stays = std::any_of(feeds.begin(), feeds.end(), [&](const FeedSettings& settings) {
      return is_watched(settings) && settings == line->settings;
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

void FeedSet::expect(const std::vector<ExpectedSymbol>& symbols, bool new_day) {
  if (merge_) merge_->expect(symbols, new_day, now());
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
    row.up = health.state == FeedState::up;
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
