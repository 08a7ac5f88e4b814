#include "dispatch/plan.h"

#include <algorithm>

namespace brimwatch {
namespace {

constexpr int kMinutesADay = 24 * 60;

template <typename T>
bool has(const std::vector<T>& list, T value) {
  return std::find(list.begin(), list.end(), value) != list.end();
}

Nanos local_of(const ChannelPlan& plan, Timestamp now) {
  const auto offset = plan.local_offset ? plan.local_offset(now) : std::chrono::seconds{0};
  return now.ns + offset.count() * kSecond;
}

}  // namespace

bool is_review(const NoticeRecord& record) {
  return record.notice.kind == NoticeKind::day_end && !record.notice.pivot.is_set() && record.symbol == kReviewName;
}

bool wants(const ChannelPlan& plan, const NoticeRecord& record) {
  if (record.notice.held) return false;  // the market is falling, and the user wants no calls then
  if (record.notice.muted) return false;
  if (is_review(record)) return plan.review;
  const NoticeKind kind = record.notice.kind;
  // A channel's own trouble is told by the others.
  if (kind == NoticeKind::self_check && record.symbol == plan.name) return false;
  if (!plan.kinds.empty() && !has(plan.kinds, kind)) return false;
  return plan.weights.empty() || !is_pivot_crossing(kind) || has(plan.weights, record.notice.volume.weight);
}

std::function<std::vector<std::string>(const NoticeRecord&)> recipients_of(std::vector<ChannelPlan> plans) {
  return [plans = std::move(plans)](const NoticeRecord& record) {
    std::vector<std::string> names;
    for (const ChannelPlan& plan : plans) {
      if (wants(plan, record)) names.push_back(plan.name);
    }
    return names;
  };
}

Nanos life_of(NoticeKind kind, const ChannelPlan& plan) {
  if (is_urgent(kind)) return plan.expire_urgent;
  return kind == NoticeKind::day_end || kind == NoticeKind::self_check ? 48 * kHour : 6 * kHour;
}

std::optional<Timestamp> quiet_until(const ChannelPlan& plan, Timestamp now) {
  if (plan.quiet_from_minute == plan.quiet_to_minute) return std::nullopt;
  const Nanos local = local_of(plan, now);
  const Nanos in_day = ((local % kDayNanos) + kDayNanos) % kDayNanos;
  const auto minute = static_cast<int>(in_day / kMinute);
  const bool over_midnight = plan.quiet_from_minute > plan.quiet_to_minute;
  const bool after_from = minute >= plan.quiet_from_minute, before_to = minute < plan.quiet_to_minute;
  if (over_midnight ? !after_from && !before_to : !(after_from && before_to)) return std::nullopt;
  const int left = (plan.quiet_to_minute - minute + kMinutesADay) % kMinutesADay;
  const Timestamp end = now + (left * kMinute - in_day % kMinute);
  // The clock may change in the night: the end is that of the clock on the wall.
  return end + (local_of(plan, now) - now.ns) - (local_of(plan, end) - end.ns);
}

}  // namespace brimwatch
