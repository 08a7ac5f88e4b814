#pragma once
// The pipe feed: a child program, or standard input, that gives one JSON object a line: the universal plug. A child that
// ends is started again, with backoff; its standard error goes to the log. Symbols are not told to it: it gives what it
// gives, and what nobody watches is left out.
#include <memory>

#include "adapters/feed.h"
#include "adapters/feeds/context.h"
#include "adapters/feeds/decoding/decoder.h"

namespace brimwatch {

[[nodiscard]] std::unique_ptr<Feed> make_pipe_feed(const FeedSettings& settings, const FeedContext& context,
                                                   Decoder decoder);

}  // namespace brimwatch
