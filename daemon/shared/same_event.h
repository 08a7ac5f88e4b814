#pragma once
// Notices of one id from two machines: their events were counted from different beginnings, so that one number may stand
// for two events. Pure.
#include "core/notice.h"

namespace brimwatch {

/// Of a watch's own price, by exchange time: two feeds give one event within seconds. A speaker that took over from one
/// that was alone counts from before, and comes to numbers that are taken.
[[nodiscard]] bool is_another_event(const NoticeRecord& there, const NoticeRecord& ours);
/// The same with the next number in its id.
[[nodiscard]] NoticeRecord with_next_number(NoticeRecord record);

}  // namespace brimwatch
