#include "live/heard_day.h"

#include <cmath>

namespace brimwatch {

std::optional<DailyBar> heard_day(const DayRecord& record, const Learned* learned) {
  const bool priced = record.open.is_set() && record.high.is_set() && record.low.is_set() && record.close.is_set();
  if (!priced || record.coverage < kWholeCoverage || record.volume.micros <= 0) return std::nullopt;
  double part = 1;
  if (learned != nullptr && learned->ratio_doubt && learned->ratio_days == 0) return std::nullopt;
  if (learned != nullptr && learned->ratio_days > 0) part = learned->feed_ratio;
  if (part <= 0) return std::nullopt;
  return DailyBar{record.day, record.open,  record.high,
                  record.low, record.close, std::round(record.volume.as_double() / part)};
}

}  // namespace brimwatch
