#pragma once
// A connection of its own to a journal of ours that is up to date, also while a daemon has it open.
#include <memory>
#include <string>

#include "journal/journal.h"
#include "journal/sql.h"

namespace brimwatch {

struct JournalVisit {
  std::unique_ptr<Journal> journal;  ///< while it is open nobody in this process looks at the file past SQLite
  Database database;
};

/// `any_version`: also one of an older version, to be copied as it is.
[[nodiscard]] Result<JournalVisit> visit_journal(const std::string& path, Database::Mode mode, bool any_version = false);

}  // namespace brimwatch
