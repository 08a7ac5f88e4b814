#pragma once
// Notices made of a feed's events.
#include <optional>

#include "adapters/feeds/health.h"
#include "core/notice.h"

namespace brimwatch {

/// Nothing for what is only for the log or the journal.
[[nodiscard]] std::optional<NoticeKind> notice_kind_of(FeedEvent::Kind kind);

}  // namespace brimwatch
