#pragma once
// What the dispatcher knows of a channel: which notices it wants, when, how many, and for how long they are worth
// sending.
#include <chrono>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/notice.h"
#include "dispatch/backoff.h"

namespace brimwatch {

struct ChannelPlan {
  std::string name;
  std::vector<NoticeKind> kinds;                   ///< empty: all
  std::vector<Weight> weights;                     ///< of crossings; empty: all
  int quiet_from_minute = 0, quiet_to_minute = 0;  ///< local minutes after midnight; equal: no quiet hours
  bool urgent_passes = true;                       ///< urgent notices go out in quiet hours too
  /// Offset of the user's clock from UTC at an instant, for the quiet hours; none: UTC.
  std::function<std::chrono::seconds(Timestamp)> local_offset;
  int per_minute = 30;              ///< messages; what is over it waits a moment and goes as one digest
  bool until_acknowledged = false;  ///< crossings are repeated until acknowledged
  Nanos repeat_every = 5 * kMinute;
  Nanos expire_urgent = 15 * kMinute;  ///< an urgent notice older than this is not sent any more
  Nanos hung_after = 65 * kSecond;     ///< an attempt that has not returned by then is reported
  bool review = false;                 ///< gets the evening's review; other kinds do not choose that
  Nanos retry_most = kRetryMost;       ///< longest pause after failures while nothing urgent waits
  bool id_aware = false;               ///< the other side drops a message whose id it has seen
};

/// The evening's review: a day-end notice of the whole list, whose symbol is this word.
constexpr std::string_view kReviewName = "review";
[[nodiscard]] bool is_review(const NoticeRecord& record);

/// `kinds` and `weights` choose, and for the review `review` alone; a weight is asked of crossings only. A channel's own
/// trouble is told by the others.
[[nodiscard]] bool wants(const ChannelPlan& plan, const NoticeRecord& record);

/// The names of the channels that want it, in the order of the plans. The returned function may be called on any thread.
[[nodiscard]] std::function<std::vector<std::string>(const NoticeRecord&)> recipients_of(std::vector<ChannelPlan> plans);

/// How long after it happened a notice of this kind is worth sending.
[[nodiscard]] Nanos life_of(NoticeKind kind, const ChannelPlan& plan);

/// The end of the quiet hours in which `now` lies; empty outside of them.
[[nodiscard]] std::optional<Timestamp> quiet_until(const ChannelPlan& plan, Timestamp now);

}  // namespace brimwatch
