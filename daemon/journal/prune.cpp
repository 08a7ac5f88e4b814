#include "journal/prune.h"

#include <algorithm>
#include <optional>
#include <utility>
#include <variant>
#include <vector>

#include "journal/state_days.h"
#include "journal/visit.h"

namespace brimwatch {
namespace {

constexpr std::int64_t kRowsAtOnce = 2000;  // deleted in one transaction: some milliseconds
constexpr int kKeysAtOnce = 500;            // looked at in one step

/// Rows that stand by a key and within it by time: of each key the old ones are one stretch of the table, so that a step
/// looks at nothing else. In `old` the key's columns are ?1 and ?2, and ?3 is the first day (or instant) that stays.
struct ByKey {
  const char* table;
  std::vector<const char*> key;
  const char* old;
};

const ByKey kDays{"days", {"symbol"}, "symbol = ?1 AND day < ?3"};
const ByKey kHoles{"holes", {"feed", "symbol"}, "feed = ?1 AND symbol = ?2 AND begin < ?3 AND end < ?3"};
/// Of the days before ?3 the last state stays: it stands here, or is the newest of all.
const ByKey kWatches{
    "watch_states",
    {"symbol", "pivot"},
    "symbol = ?1 AND pivot = ?2 AND as_of < coalesce((SELECT as_of FROM newest_watches WHERE symbol = ?1 "
    "AND pivot = ?2 AND as_of < ?3), (SELECT max(as_of) FROM watch_states WHERE symbol = ?1 AND pivot = "
    "?2 AND as_of < ?3))"};
const ByKey kSymbols{"symbol_states",
                     {"symbol"},
                     "symbol = ?1 AND as_of < coalesce((SELECT as_of FROM newest_symbols WHERE symbol = ?1 AND as_of < "
                     "?3), (SELECT max(as_of) FROM symbol_states WHERE symbol = ?1 AND as_of < ?3))"};

constexpr const char* kOne = "SELECT 1";  ///< of a notice itself: one row

using Value = std::variant<std::int64_t, std::string>;
using RowKey = std::vector<Value>;

void bind(Statement& statement, const RowKey& key) {
  for (std::size_t i = 0; i < key.size(); ++i) {
    const int at = static_cast<int>(i) + 1;
    if (const auto* number = std::get_if<std::int64_t>(&key[i])) statement.bind(at, *number);
    else statement.bind(at, std::string_view(std::get<std::string>(key[i])));
  }
}

/// "SELECT symbol, pivot FROM watch_states WHERE (symbol, pivot) > (?1, ?2) ORDER BY symbol, pivot LIMIT 1".
std::string next_key_sql(const ByKey& kind, bool first) {
  std::string columns, places;
  for (std::size_t i = 0; i < kind.key.size(); ++i) {
    columns.append(i == 0 ? "" : ", ").append(kind.key[i]);
    places.append(i == 0 ? "?" : ", ?").append(std::to_string(i + 1));
  }
  const std::string after = first ? "" : " WHERE (" + columns + ") > (" + places + ")";
  return "SELECT " + columns + " FROM " + kind.table + after + " ORDER BY " + columns + " LIMIT 1";
}

class Pruning {
 public:
  Pruning(Database& database, Date today, const PruneOptions& options)
      : database_(database), today_(today), options_(options) {}

  Result<PrunedRows> all(const JournalKeep& keep) {
    const auto part = [&](int days, std::int64_t& count, auto prune) -> Status {
      if (days <= 0 || !out_.finished) return {};
      return prune(today_ - days, count);
    };
    Status status = part(keep.notices, out_.notices, [&](Date first, auto& count) { return notices(first, count); });
    if (status) {
      status = part(keep.deliveries, out_.deliveries, [&](Date first, auto& count) { return deliveries(first, count); });
    }
    if (status) {
      status = part(keep.day_records, out_.day_records,
                    [&](Date first, auto& count) { return by_key(kDays, first.days, count); });
    }
    if (status) {
      status = part(keep.holes, out_.holes,
                    [&](Date first, auto& count) { return by_key(kHoles, first.days * kDayNanos, count); });
    }
    if (status) status = part(keep.states, out_.states, [&](Date first, auto& count) { return states(first, count); });
    if (!status) return tl::unexpected(status.error());
    return out_;
  }

 private:
  void step() { out_.finished = !options_.go_on || options_.go_on(); }

  /// From the first key to the last, some hundred a step; what is old of them goes in one transaction.
  Status by_key(const ByKey& kind, std::int64_t first_kept, std::int64_t& gone) {
    std::optional<RowKey> last;
    while (out_.finished) {
      std::vector<RowKey> with_old;
      std::int64_t rows = 0;
      for (int seen = 0; seen < kKeysAtOnce && rows < kRowsAtOnce; ++seen) {
        auto key = next_key(kind, last);
        if (!key) return tl::unexpected(key.error());
        if (!*key) return remove(kind, with_old, rows, first_kept, gone);
        const auto old = count(kind, **key, first_kept);
        if (!old) return tl::unexpected(old.error());
        if (*old > 0) with_old.push_back(**key);
        rows += *old;
        last = std::move(**key);
      }
      if (auto status = remove(kind, with_old, rows, first_kept, gone); !status) return status;
      step();
    }
    return {};
  }

  Result<std::optional<RowKey>> next_key(const ByKey& kind, const std::optional<RowKey>& last) {
    const auto find = database_.kept(next_key_sql(kind, !last));
    if (!find) return tl::unexpected(find.error());
    Statement& statement = **find;
    if (last) bind(statement, *last);
    const auto row = statement.step();
    if (!row) return tl::unexpected(row.error());
    if (!*row) return std::optional<RowKey>();
    RowKey key;
    for (std::size_t i = 0; i < kind.key.size(); ++i) {
      const int at = static_cast<int>(i);
      if (kind.key[i] == std::string_view("pivot")) key.emplace_back(statement.integer(at));
      else key.emplace_back(std::string(statement.text(at)));
    }
    statement.reset();
    return std::optional(std::move(key));
  }

  Result<std::int64_t> count(const ByKey& kind, const RowKey& key, std::int64_t first_kept) {
    const auto lent = database_.kept(std::string("SELECT count(*) FROM ") + kind.table + " WHERE " + kind.old);
    if (!lent) return tl::unexpected(lent.error());
    Statement& statement = **lent;
    bind(statement, key);
    statement.bind(3, first_kept);
    const auto row = statement.step();
    if (!row) return tl::unexpected(row.error());
    const std::int64_t rows = statement.integer(0);
    statement.reset();
    return rows;
  }

  Status remove(const ByKey& kind, const std::vector<RowKey>& keys, std::int64_t rows, std::int64_t first_kept,
                std::int64_t& gone) {
    gone += rows;
    if (options_.dry || keys.empty()) return {};
    auto transaction = Transaction::begin(database_);
    if (!transaction) return tl::unexpected(transaction.error());
    const auto statement = database_.kept(std::string("DELETE FROM ") + kind.table + " WHERE " + kind.old);
    if (!statement) return tl::unexpected(statement.error());
    for (const RowKey& key : keys) {
      bind(**statement, key);
      (*statement)->bind(3, first_kept);
      if (auto status = (*statement)->run(); !status) return status;
    }
    return transaction->commit();
  }

  /// What it is said to be exact for is narrowed first: a replay that begins meanwhile must not believe it is there.
  Status states(Date first, std::int64_t& gone) {
    auto days = StateDays::load(database_);
    if (!days) return tl::unexpected(days.error());
    if (!days->first) return {};
    if (!options_.dry && days->thinned_before < first && *days->first < first) {
      auto transaction = Transaction::begin(database_);
      if (!transaction) return tl::unexpected(transaction.error());
      days = StateDays::load(database_);
      if (!days) return tl::unexpected(days.error());
      days->thinned_before = std::max(days->thinned_before, first);
      if (auto status = days->save(database_); !status) return status;
      if (auto status = transaction->commit(); !status) return status;
    }
    if (auto status = by_key(kWatches, first.days, gone); !status) return status;
    return by_key(kSymbols, first.days, gone);
  }

  /// The last notice of the days before `first`: they stand in order, but for some that came late, which wait a day more.
  Result<std::int64_t> last_before(Date first) {
    auto find = database_.prepare("SELECT seq FROM notices WHERE day < ? ORDER BY day DESC, seq DESC LIMIT 1");
    if (!find) return tl::unexpected(find.error());
    find->bind(1, std::int64_t{first.days});
    const auto row = find->step();
    if (!row) return tl::unexpected(row.error());
    return *row ? find->integer(0) : 0;
  }

  /// One that has been delivered, or never will be, with all that refers to it.
  Status notices(Date first, std::int64_t& gone) {
    return by_number(first, gone,
                     "SELECT seq FROM notices WHERE seq > ?1 AND seq <= ?2 AND day < ?3 AND NOT EXISTS (SELECT 1 FROM "
                     "deliveries WHERE notice = notices.seq AND done = 0) ORDER BY seq LIMIT ?4",
                     kOne,
                     {"DELETE FROM deliveries WHERE notice = ?", "DELETE FROM acknowledgements WHERE notice = ?",
                      "DELETE FROM notices WHERE seq = ?"});
  }

  Status deliveries(Date first, std::int64_t& gone) {
    return by_number(
        first, gone,
        "SELECT DISTINCT notice FROM deliveries WHERE notice > ?1 AND notice <= ?2 AND done <> 0 AND (SELECT day FROM "
        "notices WHERE seq = notice) < ?3 ORDER BY notice LIMIT ?4",
        "SELECT count(*) FROM deliveries WHERE notice = ? AND done <> 0",
        {"DELETE FROM deliveries WHERE notice = ? AND done <> 0"});
  }

  /// From the first notice on, those that `find` finds, some a step; `remove` takes their rows away, and `count` says how
  /// many of one notice are counted.
  Status by_number(Date first, std::int64_t& gone, const char* find_sql, const char* count_sql,
                   const std::vector<const char*>& remove) {
    const auto last = last_before(first);
    if (!last) return tl::unexpected(last.error());
    for (std::int64_t at = 0; out_.finished;) {
      const auto some = numbers(find_sql, at, *last, first);
      if (!some) return tl::unexpected(some.error());
      if (some->empty()) return {};
      at = some->back();
      for (const std::int64_t number : *some) {
        const auto rows = count_of(count_sql, number);
        if (!rows) return tl::unexpected(rows.error());
        gone += *rows;
      }
      if (auto status = remove_numbers(remove, *some); !status) return status;
      step();
    }
    return {};
  }

  Result<std::vector<std::int64_t>> numbers(const char* sql, std::int64_t after, std::int64_t last, Date first) {
    const auto lent = database_.kept(sql);
    if (!lent) return tl::unexpected(lent.error());
    Statement& find = **lent;
    find.bind(1, after), find.bind(2, last), find.bind(3, std::int64_t{first.days}), find.bind(4, kRowsAtOnce);
    std::vector<std::int64_t> all;
    for (;;) {
      const auto row = find.step();
      if (!row) return tl::unexpected(row.error());
      if (!*row) return all;
      all.push_back(find.integer(0));
    }
  }

  Result<std::int64_t> count_of(const char* sql, std::int64_t number) {
    if (sql == kOne) return 1;
    const auto lent = database_.kept(sql);
    if (!lent) return tl::unexpected(lent.error());
    (*lent)->bind(1, number);
    const auto row = (*lent)->step();
    if (!row) return tl::unexpected(row.error());
    const std::int64_t rows = (*lent)->integer(0);
    (*lent)->reset();
    return rows;
  }

  Status remove_numbers(const std::vector<const char*>& statements, const std::vector<std::int64_t>& numbers) {
    if (options_.dry) return {};
    auto transaction = Transaction::begin(database_);
    if (!transaction) return tl::unexpected(transaction.error());
    for (const char* sql : statements) {
      const auto remove = database_.kept(sql);
      if (!remove) return tl::unexpected(remove.error());
      for (const std::int64_t number : numbers) {
        (*remove)->bind(1, number);
        if (auto status = (*remove)->run(); !status) return status;
      }
    }
    return transaction->commit();
  }

  Database& database_;
  Date today_;
  const PruneOptions& options_;
  PrunedRows out_;
};

}  // namespace

Result<PrunedRows> prune_journal(const std::string& path, const JournalKeep& keep, Date today,
                                 const PruneOptions& options) {
  auto there = visit_journal(path, options.dry ? Database::Mode::read : Database::Mode::write);
  if (!there) return tl::unexpected(there.error());
  return Pruning(there->database, today, options).all(keep);
}

}  // namespace brimwatch
