#pragma once
// What a journal of many years needs beside being written: a backup is one whole file though a daemon writes meanwhile,
// and a look at all of it takes as long as it takes, beside the work. What goes with time: prune.h.
//
// Each opens the journal for itself, also while a daemon has it open, and blocks until it is done.
#include <cstdint>
#include <string>

#include "core/result.h"
#include "core/text/timestamp.h"

namespace brimwatch {

/// One file with all that was committed when it began, complete in itself, for its owner alone; looked at from end to end
/// before it gets its name. Nothing is overwritten.
Status backup_journal(const std::string& path, const std::string& to);

/// The journal from a backup, of this version or an older one, where there is none yet. The backup is looked at first; it
/// stays as it is. A plain copy of a journal is refused unless `plain_copy`: it may lack what was written last. Whoever
/// calls holds the journal's lock.
Status restore_journal(const std::string& backup, const std::string& path, bool plain_copy = false);

/// Looks at every page; what is wrong, as one line; empty: nothing.
[[nodiscard]] Result<std::string> check_journal(const std::string& path);

/// Whoever wrote last did not close it: a crash, or it is in use. Asked before it is opened.
[[nodiscard]] bool ended_uncleanly(const std::string& path);

}  // namespace brimwatch
