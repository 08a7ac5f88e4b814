#include "shared/held_notices.h"

#include <utility>

#include "shared/may_come_twice.h"
#include "shared/newer_watch.h"

namespace brimwatch {

HeldNotices::HeldNotices(const SharedView& view, std::string member, Nanos ttl)
    : view_(view), member_(std::move(member)), ttl_(ttl) {}

void HeldNotices::hold(std::vector<NoticeRecord> notices, Nanos now) {
  for (NoticeRecord& record : notices) {
    ++counters_.held;
    if (view_.has_notice(record.id)) ++counters_.told_by_others;
    else held_.push_back({std::move(record), now});
  }
  for (; held_.size() > kMost; held_.pop_front()) ++counters_.dropped;
}

void HeldNotices::forget(const std::string& notice_id) {
  counters_.told_by_others += std::erase_if(held_, [&](const Held& held) { return held.record.id == notice_id; });
}

/// The log has neither it nor its watch as it was then or later.
bool HeldNotices::is_unheard_of(const NoticeRecord& record) const {
  if (!is_urgent(record.notice.kind) || view_.has_notice(record.id)) return false;
  const auto theirs = view_.watches().find({record.symbol, record.notice.pivot});
  return theirs == view_.watches().end() || last_heard(theirs->second) < record.notice.time;
}

std::vector<NoticeRecord> HeldNotices::take_unheard(Nanos now) {
  std::vector<NoticeRecord> unheard;
  for (; !held_.empty() && now - held_.front().at >= kTellAfter; held_.pop_front()) {
    Held& held = held_.front();
    if (now - held.at >= kHeldFor || !is_unheard_of(held.record)) {
      ++counters_.dropped;
      continue;
    }
    mark_as_heard_alone(held.record, member_);
    unheard.push_back(std::move(held.record));
  }
  return unheard;
}

/// Of what is a little older than the silence nobody has asked yet whether the one before had heard it.
std::vector<NoticeRecord> HeldNotices::take_untold(const Before& before, Nanos now) {
  std::vector<NoticeRecord> untold;
  for (Held& held : std::exchange(held_, {})) {
    const bool is_of_silence = held.at >= before.silent_since;
    const bool is_young = now - held.at < ttl_ + 2 * kTellAfter;
    const bool is_unheard = !is_of_silence && is_young && !before.spoke_alone && is_unheard_of(held.record);
    if ((!is_of_silence && !is_unheard) || view_.has_notice(held.record.id)) {
      ++counters_.dropped;
      continue;
    }
    if (is_unheard) mark_as_heard_alone(held.record, member_);
    untold.push_back(std::move(held.record));
  }
  return untold;
}

}  // namespace brimwatch
