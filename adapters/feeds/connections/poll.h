#pragma once
// The poll feed: snapshots of quotes over HTTP at an interval, many symbols a request. It sends If-None-Match where the
// source gives ETags, keeps to Retry-After, never has two rounds under way, and says nothing for a snapshot that did not
// change. Messages are day snapshots unless the mapping says otherwise.
#include <memory>

#include "adapters/feed.h"
#include "adapters/feeds/context.h"
#include "core/result.h"

namespace brimwatch {

/// A poll whose mapping has no size and no word for kinds brings day snapshots. Others as they are.
[[nodiscard]] FeedSettings with_usual_kind(FeedSettings settings);

[[nodiscard]] Result<std::unique_ptr<Feed>> make_poll_feed(const FeedSettings& settings, const FeedContext& context);

}  // namespace brimwatch
