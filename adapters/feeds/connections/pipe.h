#pragma once
// The pipe feed: a child program, or standard input, that writes one JSON object a line. A child that ends is restarted,
// with backoff; its standard error goes to the log. It is not told which symbols are watched; unwatched ones are dropped.
#include <memory>

#include "adapters/feed.h"
#include "adapters/feeds/context.h"
#include "adapters/feeds/decoding/decoder.h"

namespace brimwatch {

[[nodiscard]] std::unique_ptr<Feed> make_pipe_feed(const FeedSettings& settings, const FeedContext& context,
                                                   Decoder decoder);

}  // namespace brimwatch
