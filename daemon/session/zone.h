#pragma once
// The one place that asks the tz database (through Howard Hinnant's date library).
#include <chrono>
#include <string>
#include <vector>

#include "core/result.h"
#include "core/timestamp.h"

namespace brimwatch {

/// From `from` on, local time is UTC + offset.
struct ZoneShift {
  Timestamp from;
  std::chrono::seconds offset;
};

/// The shifts of a zone over whole years, ascending; the first one covers the start. Fails when the zone or the tz
/// database is missing, and says which package brings it.
[[nodiscard]] Result<std::vector<ZoneShift>> zone_shifts(const std::string& zone, int first_year, int last_year);

}  // namespace brimwatch
