#pragma once
// The one table of all kinds of quote feed. A new one is a line here and a file of its own.
#include <memory>
#include <string>
#include <vector>

#include "adapters/feed.h"
#include "adapters/feeds/context.h"
#include "core/result.h"

namespace brimwatch {

/// A stopped feed of settings.kind. The context and its parts must outlive it. An error names the key that is wrong.
[[nodiscard]] Result<std::unique_ptr<Feed>> make_feed(const FeedSettings& settings, const FeedContext& context);

/// Why make_feed would refuse, all of it, without making or connecting anything: "key: found ..., expected ...". A tape
/// is left out by whoever watches, and nothing is wrong with that.
[[nodiscard]] std::vector<std::string> objections_to(const FeedSettings& settings);
/// What can be made and is perhaps not meant, in the same form.
[[nodiscard]] std::vector<std::string> doubts_about(const FeedSettings& settings);

}  // namespace brimwatch
