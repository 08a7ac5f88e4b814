#include "journal/state_days.h"

#include <algorithm>

namespace brimwatch {
namespace {

constexpr int kThinEvery = 7;  // days; a pass looks at every state, so not on each day

/// Of those before a day the newest of each key stays, here or among the newest of all.
constexpr const char* kThinWatches =
    "DELETE FROM watch_states AS one WHERE as_of < ?1 AND (EXISTS (SELECT 1 FROM watch_states AS later WHERE "
    "later.symbol = one.symbol AND later.pivot = one.pivot AND later.as_of > one.as_of AND later.as_of < ?1) OR EXISTS "
    "(SELECT 1 FROM newest_watches AS newest WHERE newest.symbol = one.symbol AND newest.pivot = one.pivot AND "
    "newest.as_of < ?1))";
constexpr const char* kThinSymbols =
    "DELETE FROM symbol_states AS one WHERE as_of < ?1 AND (EXISTS (SELECT 1 FROM symbol_states AS later WHERE "
    "later.symbol = one.symbol AND later.as_of > one.as_of AND later.as_of < ?1) OR EXISTS (SELECT 1 FROM newest_symbols "
    "AS newest WHERE newest.symbol = one.symbol AND newest.as_of < ?1))";

}  // namespace

Result<StateDays> StateDays::load(Database& database) {
  const auto lent = database.kept("SELECT first, newest, thinned_before FROM state_days");
  if (!lent) return tl::unexpected(lent.error());
  Statement* const statement = *lent;
  const auto row = statement->step();
  if (!row) return tl::unexpected(row.error());
  StateDays days;
  if (!*row) return days;
  days.first = Date{static_cast<std::int32_t>(statement->integer(0))};
  days.newest = Date{static_cast<std::int32_t>(statement->integer(1))};
  days.thinned_before = Date{static_cast<std::int32_t>(statement->integer(2))};
  statement->reset();
  return days;
}

Status StateDays::save(Database& database) const {
  if (!first) return {};
  if (auto status = database.run("DELETE FROM state_days"); !status) return status;
  auto insert = database.prepare("INSERT INTO state_days VALUES (?, ?, ?)");
  if (!insert) return tl::unexpected(insert.error());
  insert->bind(1, std::int64_t{first->days});
  insert->bind(2, std::int64_t{newest.days});
  insert->bind(3, std::int64_t{thinned_before.days});
  return insert->run();
}

bool StateDays::include(Date day) {
  const bool changes = !first || day < *first || day > newest;
  if (!changes) return false;
  newest = first ? std::max(newest, day) : day;
  first = first ? std::min(*first, day) : day;
  return true;
}

Status StateDays::thin(Database& database, int days_kept) {
  const Date from = std::max(thinned_before, *first);
  if (newest - days_kept - from < kThinEvery) return {};
  const Date limit = from + kThinEvery;  // what is overdue goes in as many steps: a commit must not wait for all of it
  for (const char* sql : {kThinWatches, kThinSymbols}) {
    auto statement = database.prepare(sql);
    if (!statement) return tl::unexpected(statement.error());
    statement->bind(1, std::int64_t{limit.days});
    if (auto status = statement->run(); !status) return status;
  }
  thinned_before = limit;
  return {};
}

}  // namespace brimwatch
