#pragma once
// SQLite's C interface with owners and errors: what the journal needs of it and no more.
#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <string_view>
#include <utility>

#include "core/result.h"

struct sqlite3;
struct sqlite3_stmt;

namespace brimwatch {

/// One prepared statement. Binding counts from 1, columns from 0, as in SQLite. A binding that fails is told by step().
class Statement {
 public:
  Statement() = default;
  explicit Statement(sqlite3_stmt* raw) : raw_(raw) {}

  void bind(int index, std::int64_t value);
  void bind(int index, double value);            ///< a NaN becomes NULL
  void bind(int index, std::string_view value);  ///< kept until the next step() only
  void bind_blob(int index, std::string_view bytes);

  /// True: there is a row. False: done. A statement that is done or failed is ready to be bound anew.
  Result<bool> step();
  Status run();  ///< for statements without rows
  void reset();

  [[nodiscard]] bool is_null(int column) const;
  [[nodiscard]] std::int64_t integer(int column) const;
  [[nodiscard]] double real(int column) const;
  [[nodiscard]] std::string_view text(int column) const;  ///< valid until the next step; blobs too

 private:
  struct Finalizer {
    void operator()(sqlite3_stmt* raw) const;
  };
  void note(int code);
  std::unique_ptr<sqlite3_stmt, Finalizer> raw_;
  int bind_code_ = 0;
};

/// Runs a statement to its end; `take` reads one row and says whether to go on.
template <typename Take>
Status each_row(Statement& statement, Take take) {
  for (;;) {
    const auto row = statement.step();
    if (!row) return tl::unexpected(row.error());
    if (!*row || !take(statement)) break;
  }
  statement.reset();
  return {};
}

class Database {
 public:
  enum class Mode { write, read, read_unchanging };
  static Result<Database> open(const std::string& path, Mode mode, const std::string& vfs, int busy_timeout_ms);

  Status run(const char* sql);
  Result<Statement> prepare(std::string_view sql);
  /// Prepared once, and lent: to be reset before it is asked for again. Good as long as the database.
  Result<Statement*> kept(std::string_view sql);
  Result<std::int64_t> number(const char* sql);  ///< first column of the first row; 0 when there is none
  Result<std::string> text(const char* sql);
  [[nodiscard]] std::int64_t changes() const;  ///< rows changed by the last statement
  [[nodiscard]] const std::string& path() const { return path_; }
  /// A commit brings the write-ahead log into the file once it has so many pages. An error is not told: what was
  /// committed is safe in the log.
  void bring_in_at(int pages);
  void bring_in();  ///< now
  [[nodiscard]] int log_pages() const {
    return log_ ? log_->pages : 0;
  }  ///< as of the last commit; from bring_in_at() on
  /// Closing will not write to the file.
  void abandon();

 private:
  struct Closer {
    void operator()(sqlite3* raw) const;
  };
  struct Log {
    int pages = 0, most = 0;
  };
  std::unique_ptr<Log> log_;  ///< told by SQLite: stays where it is, and longer than the connection
  std::unique_ptr<sqlite3, Closer> raw_;
  std::map<std::string, Statement, std::less<>> kept_;
  std::string path_;
};

/// Begins at once, so that two writers queue up instead of failing; rolls back unless committed.
class Transaction {
 public:
  static Result<Transaction> begin(Database& database);
  Transaction(Transaction&& other) noexcept : database_(std::exchange(other.database_, nullptr)) {}
  Transaction& operator=(Transaction&&) = delete;
  ~Transaction();
  Status commit();

 private:
  explicit Transaction(Database& database) : database_(&database) {}
  Database* database_;
};

}  // namespace brimwatch
