#include "session/zone.h"

#include <date/tz.h>

#include <algorithm>

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

Result<std::shared_ptr<const LocalTime>> LocalTime::of(const std::string& zone) {
  constexpr int kFirstYear = 1900, kLastYear = 2100;
  auto shifts = zone_shifts(zone, kFirstYear, kLastYear);
  if (!shifts) return tl::unexpected(shifts.error());
  auto made = std::make_shared<LocalTime>();
  made->shifts_ = std::move(*shifts);
  return std::shared_ptr<const LocalTime>(std::move(made));
}

Nanos LocalTime::offset(Timestamp time) const {
  const auto after = std::upper_bound(shifts_.begin(), shifts_.end(), time,
                                      [](Timestamp t, const ZoneShift& shift) { return t < shift.from; });
  const ZoneShift& shift = after == shifts_.begin() ? *after : *(after - 1);
  return shift.offset.count() * kSecond;
}

Timestamp LocalTime::to_utc(Nanos local) const {
  const Nanos near = offset(Timestamp{local});
  return Timestamp{local - offset(Timestamp{local - near})};
}

}  // namespace brimwatch
