#pragma once
// What an HTTP answer that is not the wanted one means for a feed. Pure.
#include <optional>
#include <string>

#include "adapters/net/http.h"
#include "core/text/timestamp.h"

namespace brimwatch {

struct RequestTrouble {
  std::string text;
  bool refused = false;
  Nanos wait = 0;  ///< what the source asked for
};

/// What a person can read of the answer, ": ..." on one line, without the secret; empty where that is nothing, or a page
/// for a browser.
[[nodiscard]] std::string said_in(const HttpAnswer& answer, const std::string& secret);

/// Empty when the answer is a good one: 200 with a body, or 304.
[[nodiscard]] std::optional<RequestTrouble> trouble_of(const HttpAnswer& answer, Timestamp now,
                                                       const std::string& secret);

}  // namespace brimwatch
