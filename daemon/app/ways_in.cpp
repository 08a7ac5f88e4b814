#include "app/ways_in.h"

#include <algorithm>

#include "adapters/feeds/table.h"

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
  }
  return "unknown";
}

}  // namespace

/// One feed with its ear: says which of the feeds is speaking.
struct WaysIn::Line : public FeedListener {
  Line(FeedSettings with, const Events& to, const FeedContext& world)
      : settings(std::move(with)), events(to), context(world) {}

  void on_ticks(std::span<const Tick> ticks) override {
    if (ticks.empty()) return;
    heard = context.steady();
    if (ticks.back().received.is_set() && ticks.back().time.is_set()) lag = ticks.back().received - ticks.back().time;
    events.ticks(index, ticks);
  }
  void on_state(FeedState state, std::string_view text) override { events.state(index, state, text); }
  void on_frame(Timestamp received, std::string_view bytes) override { events.frame(index, received, bytes); }

  FeedSettings settings;
  const Events& events;
  const FeedContext& context;
  std::size_t index = 0;
  Nanos heard = 0;
  Nanos lag = -1;
  std::unique_ptr<Feed> feed;
};

WaysIn::WaysIn(FeedContext context, Events events) : context_(std::move(context)), events_(std::move(events)) {}
WaysIn::~WaysIn() { stop(); }

void WaysIn::set(const std::vector<FeedSettings>& feeds, const std::vector<std::string>& symbols) {
  std::vector<std::unique_ptr<Line>> lines;
  for (const FeedSettings& settings : feeds) {
    if (!settings.enabled) continue;
    const auto same =
        std::find_if(lines_.begin(), lines_.end(), [&](const auto& line) { return line && line->settings == settings; });
    if (same != lines_.end()) {
      lines.push_back(std::move(*same));
      continue;
    }
    auto line = std::make_unique<Line>(settings, events_, context_);
    auto feed = make_feed(settings, context_);
    if (!feed) {
      context_.log(LogLevel::error, "feed " + settings.name + ": " + feed.error().text + "; it is left out");
      continue;
    }
    line->feed = std::move(*feed);
    lines.push_back(std::move(line));
  }
  for (const auto& gone : lines_) {
    if (gone) gone->feed->stop();
  }
  lines_ = std::move(lines);
  for (std::size_t i = 0; i < lines_.size(); ++i) {
    lines_[i]->index = i;
    lines_[i]->feed->subscribe(symbols);
    if (lines_[i]->feed->health().state == FeedState::stopped) lines_[i]->feed->start(*lines_[i]);
  }
}

const FeedSettings& WaysIn::settings(std::size_t feed) const { return lines_[feed]->settings; }

void WaysIn::stop() {
  for (const auto& line : lines_) line->feed->stop();
}

std::vector<FeedRow> WaysIn::rows() const {
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
    row.carrying = health.state == FeedState::up;
    if (line->lag >= 0) row.lag_seconds = static_cast<double>(line->lag) / 1e9;
    if (line->heard > 0) row.silent_seconds = static_cast<double>(context_.steady() - line->heard) / 1e9;
    rows.push_back(std::move(row));
  }
  return rows;
}

}  // namespace brimwatch
