#pragma once
// The one table of all ways in. A new one is a line here and a file of its own.
#include <memory>

#include "adapters/feed.h"
#include "adapters/feeds/context.h"
#include "core/result.h"

namespace brimwatch {

/// A stopped feed of settings.kind. The context and its parts must outlive it. An error names the key that is wrong.
[[nodiscard]] Result<std::unique_ptr<Feed>> make_feed(const FeedSettings& settings, const FeedContext& context);

}  // namespace brimwatch
