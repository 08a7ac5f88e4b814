#pragma once
// A snapshot as OpenMetrics 1.0 text, for monitoring. Pure.
#include <string>
#include <string_view>

#include "core/snapshot.h"

namespace brimwatch {

constexpr std::string_view kMetricsType = "application/openmetrics-text; version=1.0.0; charset=utf-8";

/// Ends with "# EOF". Label values are escaped; a figure that is not known has no sample.
[[nodiscard]] std::string metrics_text(const Snapshot& snapshot);

}  // namespace brimwatch
