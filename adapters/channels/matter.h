#pragma once
// What a message is about, for ways out where a newer message takes the place of an older one. Pure.
#include <string>

#include "adapters/channel.h"

namespace brimwatch {

/// Alike for messages of which the newest says all that still matters: notices of one watch. What is said of a feed or of
/// the program, and a digest, stands for itself: something else that is said later makes none of it untrue, and whoever
/// has not read it must still find it. A message that is sent again is about the same.
[[nodiscard]] std::string matter_of(const Message& message);

}  // namespace brimwatch
