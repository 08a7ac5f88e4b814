#pragma once
// The one place that asks the tz database (through Howard Hinnant's date library).
#include <chrono>
#include <memory>
#include <string>
#include <vector>

#include "core/result.h"
#include "core/text/timestamp.h"

namespace brimwatch {

/// From `from` on, local time is UTC + offset.
struct ZoneShift {
  Timestamp from;
  std::chrono::seconds offset;
};

/// The shifts of a zone over whole years, ascending; the first one covers the start. Fails when the zone or the tz
/// database is missing, and says which package brings it.
[[nodiscard]] Result<std::vector<ZoneShift>> zone_shifts(const std::string& zone, int first_year, int last_year);

/// Clock times of a zone turned into instants.
class LocalTime {
 public:
  /// By the name that the tz database has for it, e.g. America/Chicago. Errors: there is none.
  static Result<std::shared_ptr<const LocalTime>> of(const std::string& zone);

  /// `local`: nanoseconds since 1970-01-01 00:00 on the zone's clocks. An hour that comes twice is taken as one of the
  /// two; one that is left out as if the clocks had not been moved.
  [[nodiscard]] Timestamp to_utc(Nanos local) const;

 private:
  [[nodiscard]] Nanos offset(Timestamp time) const;
  std::vector<ZoneShift> shifts_;
};

}  // namespace brimwatch
