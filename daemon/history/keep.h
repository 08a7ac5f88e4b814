#pragma once
// DIR/SYMBOL.csv filled and extended: read, merged, and put in its place whole or not at all. A kill at any moment leaves
// the old file or the new one.
#include <optional>
#include <string>

#include "core/result.h"
#include "files/daily_file.h"
#include "history/merge.h"

namespace brimwatch {

struct KeptDays {
  MergedDays merged;
  std::string path;
  std::string old_kept_as;       ///< where the user's own file lies that had more in it than we write; empty: none
  std::optional<Date> ask_from;  ///< nothing was written: the past was restated, and is wanted from that day on
};

struct KeepTerms {
  bool own = false;       ///< the rows were heard by us
  bool is_whole = false;  ///< a restated past was asked for from its first day: what is older is brought to its terms
};

/// `fresh` goes into the file of its symbol. Nothing is written where nothing has changed. An error leaves the file
/// alone: one that cannot be read, that is of another symbol or packed, or a disk that is full.
[[nodiscard]] Result<KeptDays> keep_days(const DailyStore& store, const DailySeries& fresh, const KeepTerms& terms);

}  // namespace brimwatch
