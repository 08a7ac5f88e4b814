#pragma once
// What a journal of many years needs beside being written: rows that have served their time go, a backup is one whole
// file though a daemon writes meanwhile, and a look at all of it takes as long as it takes, beside the work.
//
// Each opens the journal for itself, also while a daemon has it open, and blocks until it is done.
#include <cstdint>
#include <string>

#include "core/result.h"
#include "core/text/timestamp.h"

namespace brimwatch {

/// How long rows stay, in calendar days back from today; 0: for ever. The engine's newest states always stay
/// (JournalOptions::days_kept has the older ones).
struct JournalKeep {
  int notices = 0;         ///< with their deliveries; one that is still being delivered stays
  int deliveries = 400;    ///< channels, attempts and replies of a notice that itself stays
  int day_records = 1500;  ///< a stock's day: close, volume and its course
  int holes = 400;         ///< of feeds
};

struct PrunedRows {
  /// Of notices that go, the deliveries go uncounted; `dry` counts them among the deliveries.
  std::int64_t notices = 0, deliveries = 0, day_records = 0, holes = 0;
  [[nodiscard]] std::int64_t all() const { return notices + deliveries + day_records + holes; }
};

/// Removes what is older, in short transactions, so that a daemon waits for none of it; `dry`: only counts. The room is
/// used for new rows; the file itself does not shrink (a backup is as small as can be).
[[nodiscard]] Result<PrunedRows> prune_journal(const std::string& path, const JournalKeep& keep, Date today, bool dry);

/// One file with all that was committed when it began, complete in itself, for its owner alone; looked at from end to end
/// before it gets its name. Nothing is overwritten.
Status backup_journal(const std::string& path, const std::string& to);

/// The journal from a backup, where there is none yet. The backup is looked at first; it stays as it is. Whoever calls
/// holds the journal's lock.
Status restore_journal(const std::string& backup, const std::string& path);

/// Looks at every page; what is wrong, as one line; empty: nothing.
[[nodiscard]] Result<std::string> check_journal(const std::string& path);

/// Whoever wrote last did not close it: a crash, or it is in use. Asked before it is opened.
[[nodiscard]] bool ended_uncleanly(const std::string& path);

}  // namespace brimwatch
