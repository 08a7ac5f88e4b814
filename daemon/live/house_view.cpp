// The house as it is seen from outside.
#include <algorithm>

#include "core/rehearsal_mark.h"
#include "desk/desk_view.h"
#include "live/house.h"

namespace brimwatch {

std::string House::ready_line() const {
  const Settings& settings = desk_->settings();
  return "watching " + std::to_string(settings.watches.size()) +
         (settings.watches.size() == 1 ? " pivot on " : " pivots on ") + std::to_string(in_.size()) + " feed" +
         (in_.size() == 1 ? "" : "s") + ", telling through " + std::to_string(settings.channels.size()) + " channel" +
         (settings.channels.size() == 1 ? "" : "s");
}

std::string House::unwell() const {
  if (!keeping_.trouble().empty()) return "cannot keep what it says";
  const std::vector<FeedRow> feeds = in_.rows();
  const bool hears = std::any_of(feeds.begin(), feeds.end(), [](const FeedRow& feed) { return feed.carrying; });
  return hears || !in_session() ? "" : "hears no quotes";
}

std::chrono::seconds House::offset() const { return desk_->main_calendar().offset(engine_now()); }

Snapshot House::snapshot() const {
  Snapshot view;
  view.rehearsal = is_rehearsal(desk_->settings());
  view.time = view.rehearsal ? engine_now() : world_.wall();
  view.version = BRIMWATCH_VERSION;
  describe_desk(*desk_, engine_now(), view);
  answered_.describe(view, today_for_answers());
  view.feeds = in_.rows();
  view.channels = out_.rows();
  view.latest.assign(latest_.begin(), latest_.end());
  view.ticks = ticks_seen_;
  view.sent = sent_;
  view.notices = notices_;
  for (std::size_t kind = 0; kind < kNoticeKinds; ++kind)
    view.notices_by_kind.emplace_back(to_string(static_cast<NoticeKind>(kind)), by_kind_[kind]);
  view.projection_errors = errors_.rows();
  view.holes = holes_;
  view.journal_waiting = keeping_.keeper().waiting();
  view.journal_failures = keeping_.keeper().counters().failures + failed_starts_;
  view.journal_trouble = keeping_.trouble();
  view.configuration = configuration_;
  view.upkeep = reloads_;
  if (world_.recording) view.recording = world_.recording();
  if (world_.shared) view.shared = world_.shared();
  return view;
}

}  // namespace brimwatch
