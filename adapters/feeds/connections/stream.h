#pragma once
// The stream feed: a WebSocket source, by configuration only. It connects, says its hello, waits for a yes where the
// rules know one, subscribes in batches, and keeps the set of symbols on the other side equal to the set that is wanted:
// after a change the difference only, after a reconnect all of it. It comes back with exponential backoff and full
// jitter, and stays away for a minute at the least when it was refused.
#include <memory>

#include "adapters/feed.h"
#include "adapters/feeds/context.h"
#include "adapters/feeds/decoding/decoder.h"

namespace brimwatch {

[[nodiscard]] std::unique_ptr<Feed> make_stream_feed(const FeedSettings& settings, const FeedContext& context,
                                                     Decoder decoder);

}  // namespace brimwatch
