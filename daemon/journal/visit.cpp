#include "journal/visit.h"

#include <utility>

namespace brimwatch {

Result<JournalVisit> visit_journal(const std::string& path, Database::Mode mode, bool any_version) {
  const bool writes = mode == Database::Mode::write;
  auto journal = Journal::open_read_only(path, {.check = false, .any_version = any_version});
  if (journal && writes) journal = Journal::open(path, {.check = false});
  if (!journal) return tl::unexpected(journal.error());
  auto database = Database::open(path, mode, {}, JournalOptions().busy_timeout_ms);
  if (!database) return tl::unexpected(database.error());
  if (writes) {
    if (auto status = database->run("PRAGMA foreign_keys = ON; PRAGMA synchronous = FULL"); !status)
      return tl::unexpected(status.error());
  }
  return JournalVisit{std::move(*journal), std::move(*database)};
}

}  // namespace brimwatch
