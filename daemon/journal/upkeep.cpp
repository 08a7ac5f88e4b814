#include "journal/upkeep.h"

#include <unistd.h>

#include <filesystem>
#include <vector>

#include "files/own_files.h"
#include "journal/journal.h"
#include "journal/sql.h"

namespace brimwatch {
namespace {

namespace fs = std::filesystem;

constexpr int kRowsAtOnce = 2000;  // deleted in one transaction: some milliseconds

/// A journal of ours that is up to date, and a connection of our own to it.
struct Visit {
  std::unique_ptr<Journal> journal;  ///< while it is open nobody in this process looks at the file past SQLite
  Database database;
};

Result<Visit> visit(const std::string& path, Database::Mode mode) {
  const bool writes = mode == Database::Mode::write;
  auto journal = Journal::open_read_only(path, {.check = false});
  if (journal && writes) journal = Journal::open(path, {.check = false});
  if (!journal) return tl::unexpected(journal.error());
  auto database = Database::open(path, mode, {}, JournalOptions().busy_timeout_ms);
  if (!database) return tl::unexpected(database.error());
  if (writes) {
    if (auto status = database->run("PRAGMA foreign_keys = ON; PRAGMA synchronous = FULL"); !status)
      return tl::unexpected(status.error());
  }
  return Visit{std::move(*journal), std::move(*database)};
}

/// Steps through a statement that gives one number a row.
Result<std::vector<std::int64_t>> numbers(Statement& statement) {
  std::vector<std::int64_t> all;
  for (;;) {
    const auto row = statement.step();
    if (!row) return tl::unexpected(row.error());
    if (!*row) return all;
    all.push_back(statement.integer(0));
  }
}

class Pruning {
 public:
  Pruning(Database& database, Date today, bool dry) : database_(database), today_(today), dry_(dry) {}

  Result<PrunedRows> all(const JournalKeep& keep) {
    PrunedRows out;
    const auto add = [&](int days, std::int64_t& count, auto prune) -> Status {
      if (days <= 0) return {};
      auto gone = prune(std::int64_t{(today_ - days).days});
      if (!gone) return tl::unexpected(gone.error());
      count = *gone;
      return {};
    };
    Status status = add(keep.notices, out.notices, [this](auto before) { return notices(before); });
    if (status) status = add(keep.deliveries, out.deliveries, [this](auto before) { return rows(kDeliveries, before); });
    if (status) status = add(keep.day_records, out.day_records, [this](auto before) { return rows(kDays, before); });
    if (status) status = add(keep.holes, out.holes, [this](auto before) { return rows(kHoles, before * kDayNanos); });
    if (!status) return tl::unexpected(status.error());
    return out;
  }

 private:
  /// What is old, as a part of a statement: `?1` is the first day (or instant) that stays.
  struct Old {
    const char *table, *key, *which;
  };
  static constexpr Old kDeliveries{"deliveries", "notice, channel",
                                   "done <> 0 AND notice IN (SELECT seq FROM notices WHERE day < ?1)"};
  static constexpr Old kDays{"days", "symbol, day", "day < ?1"};
  static constexpr Old kHoles{"holes", "feed, symbol, begin", "end < ?1"};

  Result<std::int64_t> count(const std::string& table, const std::string& which, std::int64_t before) {
    auto statement = database_.prepare("SELECT count(*) FROM " + table + " WHERE " + which);
    if (!statement) return tl::unexpected(statement.error());
    statement->bind(1, before);
    const auto found = numbers(*statement);
    if (!found) return tl::unexpected(found.error());
    return found->front();
  }

  Result<std::int64_t> rows(const Old& old, std::int64_t before) {
    if (dry_) return count(old.table, old.which, before);
    auto remove = database_.prepare(std::string("DELETE FROM ") + old.table + " WHERE (" + old.key + ") IN (SELECT " +
                                    old.key + " FROM " + old.table + " WHERE " + old.which + " LIMIT ?2)");
    if (!remove) return tl::unexpected(remove.error());
    std::int64_t gone = 0;
    for (std::int64_t last = 1; last > 0; gone += last) {
      remove->bind(1, before), remove->bind(2, std::int64_t{kRowsAtOnce});
      if (auto status = remove->run(); !status) return tl::unexpected(status.error());
      last = database_.changes();
    }
    return gone;
  }

  /// One that has been delivered, or never will be, with all that refers to it.
  Result<std::int64_t> notices(std::int64_t before) {
    const std::string old = "day < ?1 AND NOT EXISTS (SELECT 1 FROM deliveries WHERE notice = notices.seq AND done = 0)";
    if (dry_) return count("notices", old, before);
    auto find = database_.prepare("SELECT seq FROM notices WHERE " + old + " ORDER BY seq LIMIT ?2");
    if (!find) return tl::unexpected(find.error());
    for (std::int64_t gone = 0;;) {
      find->bind(1, before), find->bind(2, std::int64_t{kRowsAtOnce});
      const auto some = numbers(*find);
      if (!some) return tl::unexpected(some.error());
      if (some->empty()) return gone;
      if (auto status = remove_notices(*some); !status) return tl::unexpected(status.error());
      gone += static_cast<std::int64_t>(some->size());
    }
  }

  Status remove_notices(const std::vector<std::int64_t>& all) {
    auto transaction = Transaction::begin(database_);
    if (!transaction) return tl::unexpected(transaction.error());
    for (const char* sql : {"DELETE FROM deliveries WHERE notice = ?", "DELETE FROM acknowledgements WHERE notice = ?",
                            "DELETE FROM notices WHERE seq = ?"}) {
      auto remove = database_.prepare(sql);
      if (!remove) return tl::unexpected(remove.error());
      for (const std::int64_t seq : all) {
        remove->bind(1, seq);
        if (auto status = remove->run(); !status) return status;
      }
    }
    return transaction->commit();
  }

  Database& database_;
  Date today_;
  bool dry_;
};

/// The whole of a journal into an empty file beside `to`, looked at, and then under its name.
Status copy_whole(const std::string& from, const std::string& to) {
  auto source = visit(from, Database::Mode::read);
  if (!source) return tl::unexpected(source.error());
  const std::string part = to + ".part";
  (void)remove_plain_file(part);  // of one that was interrupted
  if (const auto made = create_new_file(part); !made) return tl::unexpected(made.error());
  auto copy = source->database.prepare("VACUUM INTO ?");
  Status status = copy ? Status() : tl::unexpected(copy.error());
  if (status) {
    copy->bind(1, std::string_view(part));
    status = copy->run();
  }
  if (status) {
    const auto wrong = check_journal(part);
    status = !wrong ? tl::unexpected(wrong.error()) : wrong->empty() ? Status() : fail(*wrong);
  }
  if (status) status = put_in_place(part, to);
  if (!status) (void)remove_plain_file(part);
  return status;
}

}  // namespace

Result<PrunedRows> prune_journal(const std::string& path, const JournalKeep& keep, Date today, bool dry) {
  auto there = visit(path, dry ? Database::Mode::read : Database::Mode::write);
  if (!there) return tl::unexpected(there.error());
  return Pruning(there->database, today, dry).all(keep);
}

Status backup_journal(const std::string& path, const std::string& to) {
  std::error_code error;
  if (fs::exists(fs::symlink_status(to, error)))
    return fail(to + ": is there already; nothing was written, give another name");
  return copy_whole(path, to);
}

Status restore_journal(const std::string& backup, const std::string& path) {
  for (const char* beside : {"", "-wal", "-journal"}) {
    std::error_code error;
    if (fs::exists(fs::symlink_status(path + beside, error))) {
      return fail(path + beside + ": is there already; nothing was restored. Move it aside first, together with " +
                  fs::path(path).filename().string() + "-wal where there is one");
    }
  }
  if (const auto wrong = check_journal(backup); !wrong) return tl::unexpected(wrong.error());
  else if (!wrong->empty()) return fail(*wrong);
  return copy_whole(backup, path);
}

Result<std::string> check_journal(const std::string& path) {
  const auto journal = Journal::open_read_only(path, {.check = true, .check_large = true});
  if (!journal) return tl::unexpected(journal.error());
  return (*journal)->losses();
}

bool ended_uncleanly(const std::string& path) {
  std::error_code error;
  const auto size = fs::file_size(path + "-wal", error);
  return !error && size > 0;
}

}  // namespace brimwatch
