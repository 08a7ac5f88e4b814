#include "session/zone.h"

#include <date/tz.h>

namespace brimwatch {

Result<std::vector<ZoneShift>> zone_shifts(const std::string& zone, int first_year, int last_year) {
  try {
    const date::time_zone* found = date::locate_zone(zone);
    std::vector<ZoneShift> shifts;
    auto at = date::sys_seconds{date::sys_days{date::year{first_year - 1} / 12 / 1}};
    const auto end = date::sys_seconds{date::sys_days{date::year{last_year + 1} / 2 / 1}};
    while (at < end) {
      const auto info = found->get_info(at);
      shifts.push_back({Timestamp{at.time_since_epoch().count() * kSecond}, info.offset});
      at = info.end;
    }
    return shifts;
  } catch (const std::exception& problem) {
    return fail("time zone \"" + zone + "\": " + problem.what() + "; is the tzdata package installed?");
  }
}

}  // namespace brimwatch
