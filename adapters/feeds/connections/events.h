#pragma once
// The events feed: server-sent events over HTTP (the HTML standard, section 9.2), by configuration only. One answer that
// never ends for each batch of symbols; after a break it comes back with the id of the last event, where the source gives
// ids, and no sooner than the source asks.
#include <memory>

#include "adapters/feed.h"
#include "adapters/feeds/context.h"
#include "adapters/feeds/decoding/decoder.h"

namespace brimwatch {

[[nodiscard]] std::unique_ptr<Feed> make_events_feed(const FeedSettings& settings, const FeedContext& context,
                                                     Decoder decoder);

}  // namespace brimwatch
