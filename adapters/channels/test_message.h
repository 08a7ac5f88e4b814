#pragma once
// What `brimwatch channels try` sends: a message that nobody, and no program, can take for an event of the market.
#include <chrono>
#include <string_view>

#include "adapters/channel.h"

namespace brimwatch {

/// A notice of kind self-check that says it is a test and through which channel it came. `offset` is the user's own from
/// UTC.
[[nodiscard]] Message test_message(std::string_view channel, std::chrono::sys_seconds now, std::chrono::seconds offset);

[[nodiscard]] std::string_view words_of(const Delivery& delivery);

}  // namespace brimwatch
