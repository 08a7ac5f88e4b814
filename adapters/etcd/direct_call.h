#pragma once
// Asks another member of a house directly, over HTTP by libcurl: for when etcd does not answer. The other's certificate
// is checked as etcd's is, and ours is shown.
#include <string>

#include "config/settings.h"

namespace brimwatch {

constexpr const char* kDirectPath = "/speaks";  ///< the one thing that is answered there

/// Blocks for a second at most. What it said; empty: no answer, or none that counts.
[[nodiscard]] std::string ask_directly(const SharedSettings& settings, const std::string& address);

}  // namespace brimwatch
