#include "journal/schema.h"

#include <array>

#include "journal/newest_days.h"

namespace brimwatch {
namespace {

// One step a version; a step that has been released is never changed, only followed by another. Times are nanoseconds
// since 1970, days are days since 1970, money and shares are millionths; `sum` is the row's own (row_sum.h). ANY keeps a
// number exactly as it was given.
constexpr std::array<const char*, 6> kSteps{
    R"sql(
CREATE TABLE notices (
  seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE,
  day INTEGER NOT NULL, time INTEGER NOT NULL, utc_offset INTEGER NOT NULL, symbol TEXT NOT NULL, kind TEXT NOT NULL,
  count INTEGER NOT NULL, side TEXT NOT NULL, trend TEXT NOT NULL, marked INTEGER NOT NULL, delayed INTEGER NOT NULL,
  in_hole INTEGER NOT NULL, age INTEGER NOT NULL, price INTEGER NOT NULL, price_before INTEGER NOT NULL,
  pivot INTEGER NOT NULL, range_top INTEGER NOT NULL, loss_limit INTEGER NOT NULL, trade_id INTEGER NOT NULL,
  volume INTEGER NOT NULL, normal_volume INTEGER NOT NULL, projected ANY, low ANY, high ANY, surge ANY, odds ANY,
  needed ANY, feed_ratio ANY, missed_minutes ANY, weight TEXT NOT NULL, why_not INTEGER NOT NULL,
  detail TEXT NOT NULL, title TEXT NOT NULL, text TEXT NOT NULL, note TEXT NOT NULL, sum INTEGER NOT NULL) STRICT;
CREATE INDEX notices_by_day ON notices(day);

CREATE TABLE deliveries (
  notice INTEGER NOT NULL REFERENCES notices(seq), channel TEXT NOT NULL, state TEXT NOT NULL, attempts INTEGER NOT NULL,
  unknowns INTEGER NOT NULL, next INTEGER NOT NULL, done INTEGER NOT NULL, digest TEXT NOT NULL,
  reply TEXT NOT NULL, sum INTEGER NOT NULL,
  PRIMARY KEY (notice, channel)) STRICT, WITHOUT ROWID;
CREATE INDEX deliveries_open ON deliveries(notice) WHERE done = 0;

CREATE TABLE acknowledgements (
  seq INTEGER PRIMARY KEY, notice INTEGER NOT NULL UNIQUE REFERENCES notices(seq), at INTEGER NOT NULL,
  sum INTEGER NOT NULL) STRICT;

-- Which fields a state's body holds, and in which order: see state_body.h.
CREATE TABLE layouts (id INTEGER PRIMARY KEY, fields TEXT NOT NULL UNIQUE, sum INTEGER NOT NULL) STRICT;

CREATE TABLE watch_states (
  as_of INTEGER NOT NULL, symbol TEXT NOT NULL, pivot INTEGER NOT NULL, layout INTEGER NOT NULL REFERENCES layouts(id),
  body BLOB NOT NULL, sum INTEGER NOT NULL, PRIMARY KEY (symbol, pivot, as_of)) STRICT, WITHOUT ROWID;

CREATE TABLE symbol_states (
  as_of INTEGER NOT NULL, symbol TEXT NOT NULL, layout INTEGER NOT NULL REFERENCES layouts(id), body BLOB NOT NULL,
  sum INTEGER NOT NULL, PRIMARY KEY (symbol, as_of)) STRICT, WITHOUT ROWID;

CREATE TABLE days (
  symbol TEXT NOT NULL, day INTEGER NOT NULL, volume INTEGER NOT NULL, coverage ANY, open INTEGER NOT NULL,
  high INTEGER NOT NULL, low INTEGER NOT NULL, close INTEGER NOT NULL, half_day INTEGER NOT NULL, knots BLOB NOT NULL,
  sum INTEGER NOT NULL, PRIMARY KEY (symbol, day)) STRICT, WITHOUT ROWID;

CREATE TABLE holes (
  feed TEXT NOT NULL, symbol TEXT NOT NULL, begin INTEGER NOT NULL, end INTEGER NOT NULL, why TEXT NOT NULL,
  sum INTEGER NOT NULL, PRIMARY KEY (feed, symbol, begin)) STRICT, WITHOUT ROWID;

-- For which days the states before them are still to be had: see state_days.h.
CREATE TABLE state_days (first INTEGER NOT NULL, newest INTEGER NOT NULL, thinned_before INTEGER NOT NULL) STRICT;
)sql",
    R"sql(
-- Where a crossing stood when its volume was judged: minutes since the open, the opening gap, the volume it was thought to
-- bring. Those of before this table have no row.
CREATE TABLE crossings (
  notice INTEGER PRIMARY KEY REFERENCES notices(seq) ON DELETE CASCADE, minutes ANY, gap ANY, lift ANY, own_lift ANY,
  sum INTEGER NOT NULL) STRICT;
)sql",
    R"sql(
-- Of a delivery to several recipients those that have it already.
CREATE TABLE recipients (
  notice INTEGER NOT NULL, channel TEXT NOT NULL, address TEXT NOT NULL, sum INTEGER NOT NULL,
  PRIMARY KEY (notice, channel, address),
  FOREIGN KEY (notice, channel) REFERENCES deliveries(notice, channel) ON DELETE CASCADE) STRICT, WITHOUT ROWID;
)sql",
    R"sql(
-- Of a house of several machines: which of them said it. A machine that stands alone writes none.
CREATE TABLE speakers (
  notice INTEGER PRIMARY KEY REFERENCES notices(seq) ON DELETE CASCADE, member TEXT NOT NULL, sum INTEGER NOT NULL) STRICT;
)sql",
    R"sql(
-- What people have said back, in the order in which it took effect: see core/answer.h. A time or price of 0 was not said.
CREATE TABLE answers (
  seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, kind TEXT NOT NULL, who TEXT NOT NULL, at INTEGER NOT NULL,
  time INTEGER NOT NULL, day INTEGER NOT NULL, symbol TEXT NOT NULL, pivot INTEGER NOT NULL, price INTEGER NOT NULL,
  shares INTEGER NOT NULL, until INTEGER NOT NULL, under_pivot INTEGER NOT NULL, last_day INTEGER NOT NULL,
  note TEXT NOT NULL, notice TEXT NOT NULL, sum INTEGER NOT NULL) STRICT;
CREATE INDEX answers_by_day ON answers(day);
)sql",
    R"sql(
-- Where each watch and symbol stands now, and of each symbol the newest days in brief: what a start reads lies together,
-- however much has gathered. A state of an earlier day that it replaces moves to the tables of before (states.cpp).
CREATE TABLE newest_watches (
  as_of INTEGER NOT NULL, symbol TEXT NOT NULL, pivot INTEGER NOT NULL, layout INTEGER NOT NULL REFERENCES layouts(id),
  body BLOB NOT NULL, sum INTEGER NOT NULL, PRIMARY KEY (symbol, pivot)) STRICT, WITHOUT ROWID;
CREATE TABLE newest_symbols (
  as_of INTEGER NOT NULL, symbol TEXT NOT NULL PRIMARY KEY, layout INTEGER NOT NULL REFERENCES layouts(id),
  body BLOB NOT NULL, sum INTEGER NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE newest_days (symbol TEXT NOT NULL PRIMARY KEY, days BLOB NOT NULL, sum INTEGER NOT NULL) STRICT, WITHOUT ROWID;

-- From key to key, past all that is between.
INSERT INTO newest_watches
WITH RECURSIVE key(symbol, pivot) AS (
  SELECT * FROM (SELECT symbol, pivot FROM watch_states ORDER BY symbol, pivot LIMIT 1)
  UNION ALL
  SELECT CASE WHEN EXISTS (SELECT 1 FROM watch_states WHERE symbol = key.symbol AND pivot > key.pivot) THEN key.symbol
              ELSE (SELECT min(symbol) FROM watch_states WHERE symbol > key.symbol) END,
         coalesce((SELECT min(pivot) FROM watch_states WHERE symbol = key.symbol AND pivot > key.pivot),
                  (SELECT pivot FROM watch_states WHERE symbol > key.symbol ORDER BY symbol, pivot LIMIT 1))
  FROM key WHERE key.symbol IS NOT NULL)
SELECT one.* FROM key CROSS JOIN watch_states AS one ON one.symbol = key.symbol AND one.pivot = key.pivot
  AND one.as_of = (SELECT max(as_of) FROM watch_states WHERE symbol = key.symbol AND pivot = key.pivot);
DELETE FROM watch_states WHERE (symbol, pivot, as_of) IN (SELECT symbol, pivot, as_of FROM newest_watches);
INSERT INTO newest_symbols
WITH RECURSIVE key(symbol) AS (
  SELECT * FROM (SELECT symbol FROM symbol_states ORDER BY symbol LIMIT 1)
  UNION ALL
  SELECT (SELECT min(symbol) FROM symbol_states WHERE symbol > key.symbol) FROM key WHERE key.symbol IS NOT NULL)
SELECT one.* FROM key CROSS JOIN symbol_states AS one ON one.symbol = key.symbol
  AND one.as_of = (SELECT max(as_of) FROM symbol_states WHERE symbol = key.symbol);
DELETE FROM symbol_states WHERE (symbol, as_of) IN (SELECT symbol, as_of FROM newest_symbols);

-- Of one stock, and of one day, without a look at the years before.
CREATE INDEX notices_by_symbol ON notices(symbol, day);
CREATE INDEX holes_by_end ON holes(end);
)sql",
};

constexpr std::int64_t kWithNewestDays = 6;  ///< the version that brought them

}  // namespace

int schema_version() { return static_cast<int>(kSteps.size()); }

Status check_owner(Database& database) {
  const auto id = database.number("PRAGMA application_id");
  if (!id) return tl::unexpected(id.error());
  const auto version = database.number("PRAGMA user_version");
  if (!version) return tl::unexpected(version.error());
  const auto tables = database.number("SELECT count(*) FROM sqlite_schema");
  if (!tables) return tl::unexpected(tables.error());
  if (*id != kJournalId && !(*id == 0 && *version == 0 && *tables == 0)) {
    return fail("journal " + database.path() +
                ": it is the database of another program; it was left alone, give another path");
  }
  if (*version > schema_version()) {
    return fail("journal " + database.path() + ": written by a newer version of brimwatch (journal version " +
                std::to_string(*version) + ", this program knows up to " + std::to_string(schema_version()) +
                "); it was left alone: use the newer program, or give another path");
  }
  return {};
}

Status migrate(Database& database) {
  auto transaction = Transaction::begin(database);
  if (!transaction) return tl::unexpected(transaction.error());
  // Asked inside the transaction: another process may just have done it.
  const auto version = database.number("PRAGMA user_version");
  if (!version) return tl::unexpected(version.error());
  if (*version == schema_version()) return {};
  for (auto step = static_cast<std::size_t>(*version); step < kSteps.size(); ++step) {
    if (auto status = database.run(kSteps[step]); !status) return status;
  }
  if (*version < kWithNewestDays) {
    if (auto status = fill_newest_days(database); !status) return status;
  }
  const std::string marks = "PRAGMA application_id = " + std::to_string(kJournalId) +
                            "; PRAGMA user_version = " + std::to_string(schema_version());
  if (auto status = database.run(marks.c_str()); !status) return status;
  return transaction->commit();
}

}  // namespace brimwatch
