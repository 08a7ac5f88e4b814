#pragma once
// Which days' states the journal can give back. A state is kept once for each trade date on which it changed, so that the
// state as it was before a day is the newest version of an earlier day, whatever has been written since: a replay that
// was interrupted starts from the same state again. Versions older than the kept span are thinned to the newest one.
#include <optional>

#include "core/text/timestamp.h"
#include "journal/sql.h"

namespace brimwatch {

struct StateDays {
  std::optional<Date> first;  ///< earliest day to which any state ever belonged
  Date newest;
  Date thinned_before;  ///< of the days before it only the newest version of each state is left

  /// Whether the states before `day` are still exactly to be had.
  [[nodiscard]] bool exact_before(Date day) const { return !first || day <= *first || day >= thinned_before; }

  static Result<StateDays> load(Database& database);
  Status save(Database& database) const;
  /// Takes note of a day of a batch; true when that changed anything.
  bool include(Date day);
  /// Thins what is older than `days_kept` days, where a week's worth has gathered: the oldest week. Changes
  /// thinned_before.
  Status thin(Database& database, int days_kept);
};

}  // namespace brimwatch
