#pragma once
// From the configuration's channels to what the dispatcher needs to know of them.
#include <chrono>
#include <functional>
#include <string>
#include <vector>

#include "config/settings.h"
#include "dispatch/plan.h"

namespace brimwatch {

/// Enabled channels only, in the configuration's order. A channel without a name goes by its kind. `evening` says which
/// of them get the day's review; without it, none.
[[nodiscard]] std::vector<ChannelPlan> plans_of(const std::vector<ChannelSettings>& channels,
                                                const EveningSettings& evening = {});

/// How far the user's clock is ahead of UTC: in the IANA zone `zone`, or in the machine's own where that is empty.
[[nodiscard]] std::function<std::chrono::seconds(Timestamp)> local_offset(const std::string& zone);

/// The name a channel goes by.
[[nodiscard]] std::string name_of(const ChannelSettings& channel);

}  // namespace brimwatch
