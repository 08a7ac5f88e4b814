#pragma once
// Rows of a journal that have served their time go, kind by kind, also while a daemon writes to it.
//
// What is still needed stays however old it is: deliveries that are not over, with their notices; answers (holdings,
// added watches, mutes come from them); the newest state of each watch and symbol; who has a mail already, until it is
// delivered.
#include <cstdint>
#include <functional>
#include <string>

#include "core/result.h"
#include "core/text/timestamp.h"

namespace brimwatch {

/// How long rows stay, in calendar days back from today; 0: for ever.
struct JournalKeep {
  int notices = 0;         ///< with their deliveries; one that is still being delivered stays
  int deliveries = 400;    ///< channels, attempts and replies of a notice that itself stays
  int day_records = 1500;  ///< a stock's day: close, volume and its course
  int holes = 400;         ///< of feeds
  int states = 90;         ///< where watches and symbols stood on days before
};

struct PrunedRows {
  /// Of notices that go, the deliveries go uncounted; `dry` counts them among the deliveries.
  std::int64_t notices = 0, deliveries = 0, day_records = 0, holes = 0, states = 0;
  bool finished = true;  ///< false: `go_on` said to stop, the rest is for the next time
  [[nodiscard]] std::int64_t all() const { return notices + deliveries + day_records + holes + states; }
};

struct PruneOptions {
  bool dry = false;  ///< only counts
  /// Asked after each step (a look at some hundred keys, or one short transaction): whoever also writes gets room here by
  /// a pause. False ends it. Empty: it goes on.
  std::function<bool()> go_on{};
};

/// Opens the journal for itself and blocks until it is done. The room is used for new rows; the file itself does not
/// shrink (a backup is as small as can be).
[[nodiscard]] Result<PrunedRows> prune_journal(const std::string& path, const JournalKeep& keep, Date today,
                                               const PruneOptions& options = {});

}  // namespace brimwatch
