#pragma once
// What a phone is told of a message: few words, for a screen that is locked. Pure.
#include <chrono>
#include <string>
#include <string_view>

#include "adapters/channel.h"

namespace brimwatch {

/// JSON for the page's worker: title, at most three lines, id, symbol, kind, whether it is about a price, and when. Never
/// longer than a sealed message may be.
[[nodiscard]] std::string push_text(const Message& message);

struct PushTerms {
  bool urgent = false;                  ///< RFC 8030 section 5.3
  std::chrono::seconds time_to_live{};  ///< section 5.2: how long the service keeps it for a phone that is off
  std::string topic;                    ///< section 5.4: the same for all about one watch
};

/// A notice about a price is kept as long as it is of use, others for a day. The topic is a hash under `key`, so that the
/// service learns no symbol.
[[nodiscard]] PushTerms push_terms(const Message& message, std::chrono::seconds expire_urgent,
                                   std::chrono::sys_seconds now, std::string_view key);

}  // namespace brimwatch
