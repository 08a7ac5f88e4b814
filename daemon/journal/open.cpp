// Opening: nothing is written before it is known that the file is a sound journal of a version we know.
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>
#include <filesystem>

#include "core/text/text.h"
#include "files/descriptor.h"
#include "files/own_files.h"
#include "journal/open_files.h"
#include "journal/schema.h"
#include "journal/sqlite_journal.h"

namespace brimwatch {
namespace {

namespace fs = std::filesystem;

// Up to this size it is looked at whenever it is opened: some tenths of a second where the disk is cold.
constexpr std::uintmax_t kSmallBytes = 16U << 20;
// Up to this one every index entry is compared with its row as well; above it the structure alone (a few times faster).
constexpr std::uintmax_t kFullCheckBytes = 64U << 20;

std::string name_of(const std::string& path) { return "journal " + path; }

Error damage(const std::string& path, std::string_view what) {
  return Error{name_of(path) + ": damaged (" + std::string(what) +
               "); it was left as it is. Move it aside together with " + fs::path(path).filename().string() +
               "-wal, where there is one, and start again; `brimwatch journal --journal` "
               "prints what can still be read of it"};
}

std::uintmax_t size_or_zero(const std::string& path) {
  std::error_code code;
  const auto size = fs::file_size(path, code);
  return code ? 0 : size;
}

/// What the first bytes say, before SQLite touches the file. SQLite would throw the write-ahead log of an empty file
/// away.
Status check_file(const std::string& path) {
  std::error_code code;
  if (!fs::is_regular_file(path, code)) return fail(name_of(path) + ": is not a regular file");
  const auto size = size_or_zero(path);
  const bool has_log = size_or_zero(path + "-wal") > 0;
  if (size == 0) {
    if (has_log) return tl::unexpected(damage(path, "the file is empty, but its write-ahead log is not"));
    return {};
  }
  // A program that died while it made the file left a note of how to undo that; SQLite follows it.
  if (size_or_zero(path + "-journal") > 0) return {};
  std::array<char, 18> head{};
  const Descriptor file(::open(path.c_str(), O_RDONLY | O_CLOEXEC));
  if (!file.is_open()) return fail(name_of(path) + ": cannot be read (" + std::strerror(errno) + ")");
  const auto got = ::read(file.get(), head.data(), head.size());
  if (std::string_view(head.data(), 16) != std::string_view("SQLite format 3\0", 16)) {
    return fail(name_of(path) + ": is not a journal (it does not begin like one); it was left alone, give another path");
  }
  const auto high = static_cast<unsigned char>(head[16]), low = static_cast<unsigned char>(head[17]);
  const unsigned page = high == 0 && low == 1 ? 65536U : high * 256U + low;
  if (got < static_cast<ssize_t>(head.size()) || page == 0 || (!has_log && size % page != 0)) {
    return tl::unexpected(damage(path, "cut off after " + std::to_string(size) + " bytes"));
  }
  return {};
}

/// Makes an empty file that only its owner can read; SQLite gives the files beside it the same mode.
Status create_file(const std::string& path) {
  if (size_or_zero(path + "-wal") > 0) {
    return fail(name_of(path) + ": is not there, but its write-ahead log is (" + fs::path(path).filename().string() +
                "-wal), which holds what was written last; put the file back, or move the log after it");
  }
  if (const Status folder = make_folder_of(path); !folder) return fail("journal " + folder.error().text);
  std::error_code code;
  const auto file = create_new_file(path);
  return file || fs::exists(path, code) ? Status() : fail("journal " + file.error().text);
}

/// Under two names it has two logs, and one of them is not seen (https://www.sqlite.org/howtocorrupt.html, section 2.5).
Status check_names(const std::string& path) {
  struct stat info {};
  if (::stat(path.c_str(), &info) != 0 || info.st_nlink < 2) return {};
  return fail(name_of(path) +
              ": has a second name (a hard link), under which another program could write to it; it was " +
              "left alone: remove one of the names, or copy the file");
}

Status restrict_mode(const std::string& path) {
  struct stat info {};
  if (::stat(path.c_str(), &info) == 0 && (info.st_mode & 0077) != 0 && ::chmod(path.c_str(), 0600) != 0) {
    return fail(name_of(path) + ": others can read it and its mode cannot be changed (" + std::strerror(errno) + ")");
  }
  return {};
}

/// What is wrong with the file; empty: nothing. An error where that cannot be found out.
Result<std::string> soundness(Database& database, bool large) {
  const auto size = size_or_zero(database.path());
  if (size == 0 || (size > kSmallBytes && !large)) return std::string();
  const bool small = size <= kFullCheckBytes;
  auto verdict = database.text(small ? "PRAGMA integrity_check(1)" : "PRAGMA quick_check(1)");
  if (!verdict) return verdict;
  if (*verdict == "ok") return std::string();
  constexpr std::string_view kHeading = "*** in database main ***\n";
  if (verdict->starts_with(kHeading)) verdict->erase(0, kHeading.size());
  return clean_line(*verdict, 200);
}

/// The log begins anew after an error or a crash: what a failed fsync left in it must not stand under later commits. The
/// first column of the answer says that another program reads on in the old one. After a crash that harms nothing: what
/// the disk has of the log is what is read. After an error it must not be written to, for nobody knows what the disk has.
Status begin_log_anew(Database& database, bool after_error) {
  if (size_or_zero(database.path() + "-wal") == 0) return {};
  const auto busy = database.number("PRAGMA wal_checkpoint(TRUNCATE)");
  if (!busy) return tl::unexpected(busy.error());
  if (*busy == 0 || !after_error) return {};
  return fail(name_of(database.path()) +
              ": after the failed write its log has to begin anew, and another program is still reading it; it is tried "
              "again until that ends");
}

Status set_up(Database& database) {
  const auto mode = database.text("PRAGMA journal_mode = WAL");
  if (!mode) return tl::unexpected(mode.error());
  if (*mode != "wal")
    return fail(name_of(database.path()) + ": its file system does not allow a write-ahead log; use a local disk");
  return database.run(
      "PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON; PRAGMA cache_size = -16000; PRAGMA temp_store = MEMORY;"
      "PRAGMA journal_size_limit = 67108864");
}

bool looks_damaged(const Error& error) { return error.text.find("it is damaged") != std::string::npos; }

Status ready_for_writing(Database& database, const JournalOptions& options) {
  if (auto status = check_owner(database); !status) return status;
  if (options.check) {
    const auto wrong = soundness(database, options.check_large);
    if (!wrong) return tl::unexpected(wrong.error());
    if (!wrong->empty()) return tl::unexpected(damage(database.path(), *wrong));
  }
  if (auto status = set_up(database); !status) return status;
  if (options.check) {
    if (auto status = begin_log_anew(database, options.after_error); !status) return status;
  }
  return migrate(database);
}

bool may_write_beside(const std::string& path) {
  const fs::path parent = fs::path(path).parent_path();
  return ::access(parent.empty() ? "." : parent.c_str(), W_OK) == 0;
}

Status ready_for_reading(Database& database, bool any_version) {
  if (auto status = check_owner(database); !status) return status;
  const auto version = database.number("PRAGMA user_version");
  if (!version) return tl::unexpected(version.error());
  if (*version == 0 && !any_version) return fail(name_of(database.path()) + ": nothing has been written to it yet");
  if (*version < schema_version() && !any_version) {
    return fail(name_of(database.path()) +
                ": written by an older version of brimwatch; `brimwatch run` or `brimwatch replay` "
                "brings it up to date");
  }
  return {};
}

}  // namespace

Result<std::unique_ptr<Journal>> Journal::open(const std::string& path, const JournalOptions& options) {
  if (path.empty()) return fail("journal: no path given");
  std::unique_lock alone = OpenFile::only_one();
  std::error_code code;
  if (!fs::exists(path, code)) {
    if (!options.create) return fail(name_of(path) + ": there is none");
    if (auto status = create_file(path); !status) return tl::unexpected(status.error());
  }
  if (!OpenFile::is_open(path)) {
    if (auto status = check_file(path); !status) return tl::unexpected(status.error());
  }
  if (auto status = check_names(path); !status) return tl::unexpected(status.error());
  if (auto status = restrict_mode(path); !status) return tl::unexpected(status.error());
  OpenFile file(path);
  alone.unlock();
  auto database = Database::open(path, Database::Mode::write, options.vfs, options.busy_timeout_ms);
  if (!database) return tl::unexpected(database.error());
  auto status = ready_for_writing(*database, options);
  auto journal = std::make_unique<SqliteJournal>(std::move(file), std::move(*database), options);
  if (status) status = journal->prepare_writing();
  if (status) return journal;
  journal->abandon();
  return tl::unexpected(looks_damaged(status.error()) ? damage(path, status.error().text) : status.error());
}

Result<std::unique_ptr<Journal>> Journal::open_read_only(const std::string& path, const JournalOptions& options) {
  std::error_code code;
  if (!fs::exists(path, code)) {
    return fail(name_of(path) + ": there is none; `brimwatch run` makes it, or `brimwatch replay TAPE --journal FILE`");
  }
  std::unique_lock alone = OpenFile::only_one();
  if (!OpenFile::is_open(path)) {
    if (auto status = check_file(path); !status && size_or_zero(path) == 0) return tl::unexpected(status.error());
  }
  OpenFile file(path);
  alone.unlock();
  auto database = Database::open(path, Database::Mode::read, options.vfs, options.busy_timeout_ms);
  if (!database) return tl::unexpected(database.error());
  auto status = ready_for_reading(*database, options.any_version);
  // In a directory that may not be written SQLite cannot share the file; without a log nothing can be missed either.
  if (!status && !may_write_beside(path) && size_or_zero(path + "-wal") == 0) {
    database = Database::open(path, Database::Mode::read_unchanging, options.vfs, options.busy_timeout_ms);
    if (!database) return tl::unexpected(database.error());
    status = ready_for_reading(*database, options.any_version);
  }
  if (!status) return tl::unexpected(looks_damaged(status.error()) ? damage(path, status.error().text) : status.error());
  std::string wrong;
  if (options.check) {
    const auto found = soundness(*database, options.check_large);
    wrong = found ? *found : found.error().text;
  }
  auto journal = std::make_unique<SqliteJournal>(std::move(file), std::move(*database), options);
  journal->set_unsound(std::move(wrong));
  return journal;
}

}  // namespace brimwatch
