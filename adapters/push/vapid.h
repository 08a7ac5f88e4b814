#pragma once
// Identifies the sender to a push service (VAPID, RFC 8292). Pure but for the signature's random number.
#include <chrono>
#include <string>
#include <string_view>

#include "adapters/push/p256.h"
#include "core/result.h"

namespace brimwatch {

/// The value of Authorization for a message to `endpoint`: good for twelve hours from `now`, at that service alone.
/// `contact`: mailto: or https:.
[[nodiscard]] Result<std::string> vapid_authorization(const P256& key, std::string_view endpoint,
                                                      std::string_view contact, std::chrono::sys_seconds now);

}  // namespace brimwatch
