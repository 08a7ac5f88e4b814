#include "journal/upkeep.h"

#include <unistd.h>

#include <filesystem>
#include <vector>

#include "files/own_files.h"
#include "journal/journal.h"
#include "journal/visit.h"

namespace brimwatch {
namespace {

namespace fs = std::filesystem;

/// The whole of a journal into an empty file beside `to`, looked at, and then under its name.
Status copy_whole(const std::string& from, const std::string& to) {
  auto source = visit_journal(from, Database::Mode::read, true);
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

/// A backup is in no mode that needs a second file (https://www.sqlite.org/lang_vacuum.html, VACUUM INTO).
Status refuse_plain_copy(const std::string& backup) {
  auto there = visit_journal(backup, Database::Mode::read, true);
  if (!there) return tl::unexpected(there.error());
  const auto mode = there->database.text("PRAGMA journal_mode");
  if (!mode) return tl::unexpected(mode.error());
  if (*mode != "wal") return {};
  return fail(
      backup +
      ": a plain copy of a journal and no backup; nothing was restored. If a daemon ran when it was copied, what it "
      "wrote last is missing, and the copy may not even be sound: `brimwatch journal backup` makes a whole one. "
      "--plain-copy takes this one all the same");
}

}  // namespace

Status backup_journal(const std::string& path, const std::string& to) {
  std::error_code error;
  if (fs::exists(fs::symlink_status(to, error)))
    return fail(to + ": is there already; nothing was written, give another name");
  return copy_whole(path, to);
}

Status restore_journal(const std::string& backup, const std::string& path, bool plain_copy) {
  for (const char* beside : {"", "-wal", "-journal"}) {
    std::error_code error;
    if (fs::exists(fs::symlink_status(path + beside, error))) {
      return fail(path + beside + ": is there already; nothing was restored. Move it aside first, together with " +
                  fs::path(path).filename().string() + "-wal where there is one");
    }
  }
  if (Status whole = plain_copy ? Status() : refuse_plain_copy(backup); !whole) return whole;
  if (const auto wrong = check_journal(backup); !wrong) return tl::unexpected(wrong.error());
  else if (!wrong->empty()) return fail(*wrong);
  return copy_whole(backup, path);
}

Result<std::string> check_journal(const std::string& path) {
  const auto journal = Journal::open_read_only(path, {.check = true, .check_large = true, .any_version = true});
  if (!journal) return tl::unexpected(journal.error());
  return (*journal)->losses();
}

bool ended_uncleanly(const std::string& path) {
  std::error_code error;
  const auto size = fs::file_size(path + "-wal", error);
  return !error && size > 0;
}

}  // namespace brimwatch
