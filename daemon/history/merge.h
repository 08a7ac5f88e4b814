#pragma once
// Days that are kept and days that come new, made one: no row is lost, what the source says wins over what was heard and
// over what it said before, and every change of the past is told. Pure.
#include <string>
#include <vector>

#include "core/daily.h"

namespace brimwatch {

struct DayChange {
  Date day;
  double volume_before = 0, volume = 0;
  Price close_before, close;
};

struct MergedDays {
  DailySeries series;
  int added = 0;                    ///< days that were not there
  int replaced_own = 0;             ///< days heard by us that the source gives now
  std::vector<DayChange> restated;  ///< days of the past whose volume or prices the source has changed, ascending
  double ratio = 1;                 ///< new shares for one old one, where all its prices have changed by one ratio
  std::vector<SplitOn> new_splits;  ///< told for the first time
};

/// `fresh_is_own`: the fresh rows were heard by us; they take no official row's place.
[[nodiscard]] MergedDays merge_days(const DailySeries& kept, const DailySeries& fresh, bool fresh_is_own = false);

/// Rows before `day` in terms of the rows after it: prices / ratio, volumes x ratio.
void rescale_before(DailySeries& series, Date day, double ratio);

/// "3 days added, 1 heard day replaced; restated: 2026-11-20 volume 1.20M to 1.25M": empty when nothing has changed.
[[nodiscard]] std::string in_words(const MergedDays& merged);

}  // namespace brimwatch
