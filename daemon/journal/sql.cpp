#include "journal/sql.h"

#include <sqlite3.h>

#include <cstring>

#include "core/text/percent.h"

namespace brimwatch {
namespace {

/// What the code means to the person whose disk it is.
std::string_view meaning(int code) {
  switch (code & 0xff) {
    case SQLITE_FULL:
      return "the disk is full";
    case SQLITE_READONLY:
      return "the file or its directory may not be written";
    case SQLITE_CANTOPEN:
      return "it cannot be opened (missing, or no permission in its directory)";
    case SQLITE_BUSY:
      return "another program keeps it locked";
    case SQLITE_CORRUPT:
      return "it is damaged";
    case SQLITE_NOTADB:
      return "it is not a journal";
    case SQLITE_IOERR:
      return "the disk reports an error";
    default:
      return "unexpected";
  }
}

std::string describe(sqlite3* raw) {
  const char* file = sqlite3_db_filename(raw, "main");
  const int code = sqlite3_extended_errcode(raw);
  std::string text = "journal ";
  text.append(file != nullptr ? file : "").append(": ").append(meaning(code));
  text.append(" (").append(sqlite3_errmsg(raw)).append(", code ").append(std::to_string(code));
  if (const int system = sqlite3_system_errno(raw); system != 0 && (code & 0xff) != SQLITE_BUSY) {
    text.append(": ").append(std::strerror(system));
  }
  return text + ")";
}

}  // namespace

void Statement::Finalizer::operator()(sqlite3_stmt* raw) const { sqlite3_finalize(raw); }

void Statement::note(int code) {
  if (bind_code_ == SQLITE_OK) bind_code_ = code;
}

void Statement::bind(int index, std::int64_t value) { note(sqlite3_bind_int64(raw_.get(), index, value)); }
void Statement::bind(int index, double value) { note(sqlite3_bind_double(raw_.get(), index, value)); }

void Statement::bind(int index, std::string_view value) {
  note(sqlite3_bind_text64(raw_.get(), index, value.empty() ? "" : value.data(), value.size(), SQLITE_STATIC,
                           SQLITE_UTF8));
}

void Statement::bind_blob(int index, std::string_view bytes) {
  note(sqlite3_bind_blob64(raw_.get(), index, bytes.empty() ? "" : bytes.data(), bytes.size(), SQLITE_STATIC));
}

Result<bool> Statement::step() {
  if (bind_code_ != SQLITE_OK) {
    const int code = std::exchange(bind_code_, SQLITE_OK);
    reset();
    return fail(std::string("journal: a value cannot be kept (") + sqlite3_errstr(code) + ")");
  }
  const int code = sqlite3_step(raw_.get());
  if (code == SQLITE_ROW) return true;
  if (code == SQLITE_DONE) {
    reset();
    return false;
  }
  std::string text = describe(sqlite3_db_handle(raw_.get()));
  reset();
  return fail(std::move(text));
}

Status Statement::run() {
  if (auto row = step(); !row) return tl::unexpected(row.error());
  reset();
  return {};
}

void Statement::reset() { sqlite3_reset(raw_.get()); }

bool Statement::is_null(int column) const { return sqlite3_column_type(raw_.get(), column) == SQLITE_NULL; }
std::int64_t Statement::integer(int column) const { return sqlite3_column_int64(raw_.get(), column); }
double Statement::real(int column) const { return sqlite3_column_double(raw_.get(), column); }

std::string_view Statement::text(int column) const {
  const void* bytes = sqlite3_column_blob(raw_.get(), column);
  return {static_cast<const char*>(bytes), static_cast<std::size_t>(sqlite3_column_bytes(raw_.get(), column))};
}

void Database::Closer::operator()(sqlite3* raw) const { sqlite3_close_v2(raw); }

namespace {

/// `file:` form, so that a path may hold any character; "immutable" reads without locks and without files beside it.
std::string uri_of(const std::string& path, bool immutable) {
  const std::string uri = "file:" + percent_encode(path, "/");
  return immutable ? uri + "?immutable=1" : uri;
}

}  // namespace

Result<Database> Database::open(const std::string& path, Mode mode, const std::string& vfs, int busy_timeout_ms) {
  const int access = mode == Mode::write ? SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE : SQLITE_OPEN_READONLY;
  sqlite3* raw = nullptr;
  const std::string uri = uri_of(path, mode == Mode::read_unchanging);
  const int code =
      sqlite3_open_v2(uri.c_str(), &raw, access | SQLITE_OPEN_URI | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE,
                      vfs.empty() ? nullptr : vfs.c_str());
  Database database;
  database.raw_.reset(raw);
  database.path_ = path;
  if (code != SQLITE_OK)
    return fail("journal " + path + ": " + std::string(meaning(code)) + " (" + sqlite3_errstr(code) + ")");
  sqlite3_busy_timeout(raw, busy_timeout_ms);
  return database;
}

Status Database::run(const char* sql) {
  if (sqlite3_exec(raw_.get(), sql, nullptr, nullptr, nullptr) != SQLITE_OK) return fail(describe(raw_.get()));
  return {};
}

Result<Statement> Database::prepare(std::string_view sql) {
  sqlite3_stmt* raw = nullptr;
  const int code =
      sqlite3_prepare_v3(raw_.get(), sql.data(), static_cast<int>(sql.size()), SQLITE_PREPARE_PERSISTENT, &raw, nullptr);
  if (code != SQLITE_OK) return fail(describe(raw_.get()));
  return Statement(raw);
}

Result<Statement*> Database::kept(std::string_view sql) {
  const auto found = kept_.find(sql);
  if (found != kept_.end()) return &found->second;
  auto prepared = prepare(sql);
  if (!prepared) return tl::unexpected(prepared.error());
  return &kept_.emplace(sql, std::move(*prepared)).first->second;
}

namespace {

/// Steps to the end: a pragma that is dropped half-way leaves its lock behind.
Status finish(Statement& statement) {
  for (;;) {
    const auto row = statement.step();
    if (!row) return tl::unexpected(row.error());
    if (!*row) return {};
  }
}

}  // namespace

Result<std::int64_t> Database::number(const char* sql) {
  auto statement = prepare(sql);
  if (!statement) return tl::unexpected(statement.error());
  const auto row = statement->step();
  if (!row) return tl::unexpected(row.error());
  if (!*row) return 0;
  const std::int64_t value = statement->integer(0);
  if (auto status = finish(*statement); !status) return tl::unexpected(status.error());
  return value;
}

Result<std::string> Database::text(const char* sql) {
  auto statement = prepare(sql);
  if (!statement) return tl::unexpected(statement.error());
  const auto row = statement->step();
  if (!row) return tl::unexpected(row.error());
  if (!*row) return std::string();
  std::string value(statement->text(0));
  if (auto status = finish(*statement); !status) return tl::unexpected(status.error());
  return value;
}

std::int64_t Database::changes() const { return sqlite3_changes64(raw_.get()); }

void Database::bring_in_at(int pages) {
  log_ = std::make_unique<Log>(Log{0, pages});
  const auto after_commit = [](void* log, sqlite3* raw, const char* name, int now) {
    static_cast<Log*>(log)->pages = now;
    if (now >= static_cast<Log*>(log)->most)
      sqlite3_wal_checkpoint_v2(raw, name, SQLITE_CHECKPOINT_PASSIVE, nullptr, nullptr);
    return SQLITE_OK;
  };
  sqlite3_wal_hook(raw_.get(), after_commit, log_.get());
}

void Database::bring_in() {
  if (log_) log_->pages = 0;
  sqlite3_wal_checkpoint_v2(raw_.get(), nullptr, SQLITE_CHECKPOINT_PASSIVE, nullptr, nullptr);
}

void Database::abandon() { sqlite3_db_config(raw_.get(), SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, nullptr); }

Result<Transaction> Transaction::begin(Database& database) {
  const auto begin = database.kept("BEGIN IMMEDIATE");
  if (!begin) return tl::unexpected(begin.error());
  if (auto status = (*begin)->run(); !status) return tl::unexpected(status.error());
  return Transaction(database);
}

Transaction::~Transaction() {
  // SQLite may have rolled back by itself after an error; then this one has nothing to do and its failure means nothing.
  if (database_ != nullptr) (void)database_->run("ROLLBACK");
}

Status Transaction::commit() {
  const auto commit = database_->kept("COMMIT");
  if (!commit) return tl::unexpected(commit.error());
  auto status = (*commit)->run();
  if (status) database_ = nullptr;
  return status;
}

}  // namespace brimwatch
