// The states of watches and symbols. The newest of each stands in a table of its own, which a start reads from end to
// end: as many rows as there are watches and symbols, whatever the years. What it stood at on days before stands in
// another, for replays that begin there: a state moves to it when one of a later day takes its place.
#include <algorithm>
#include <limits>
#include <optional>

#include "journal/row_io.h"
#include "journal/sqlite_journal.h"

namespace brimwatch {
namespace {

using Layouts = std::map<std::int64_t, std::vector<LayoutField>>;

Date day_of(const JournalBatch& batch, Date own) { return batch.day ? std::max(*batch.day, own) : own; }

const auto watch_key = [](auto& row, auto& state) { row(state.symbol), row(state.pivot); };
const auto symbol_key = [](auto& row, auto& state) { row(state.symbol); };

/// Each returns how many parameters it has bound.
const auto bind_watch = [](Statement& to, const WatchState& state) {
  to.bind(1, std::string_view(state.symbol)), to.bind(2, state.pivot.micros);
  return 2;
};
const auto bind_symbol = [](Statement& to, const SymbolState& state) {
  to.bind(1, std::string_view(state.symbol));
  return 1;
};

/// Reads "as_of, key ..., layout, body, sum" into a state.
template <typename Memory, typename State, typename Key>
bool read_state(const Statement& found, const Layouts& layouts, Date& as_of, State& state, Key key) {
  RowReader row(found);
  std::int64_t layout = 0;
  row(as_of);
  key(row, state);
  row(layout);
  const std::string_view body = row.get_text();
  const auto fields = layouts.find(layout);
  return row.end() && fields != layouts.end() && read_body<Memory>(fields->second, body, state);
}

/// Of each key the newest state that belongs to a day before `before`, or the newest: from `newest` as a whole, and where
/// that one is of a later day, or damaged, from `earlier`, whose parameters are a key and the day before which it must
/// be.
template <typename Memory, typename State, typename Key, typename BindKey>
Result<std::vector<State>> states_before(Statement& newest, Statement& earlier, const Layouts& layouts,
                                         std::optional<Date> before, Key key, BindKey bind_key, std::uint64_t& damaged) {
  std::vector<State> states;
  const auto add_earlier = [&](const State& one) -> Status {
    for (std::int64_t day = before ? before->days : std::numeric_limits<std::int64_t>::max();;) {
      earlier.bind(bind_key(earlier, one) + 1, day);
      const auto row = earlier.step();
      if (!row) return tl::unexpected(row.error());
      if (!*row) return {};
      Date as_of;
      State state;
      const bool sound = read_state<Memory>(earlier, layouts, as_of, state, key);
      const std::int64_t found = earlier.integer(0);
      earlier.reset();
      if (found >= day) return fail("the states do not stand in order; it is damaged");
      day = found;
      if (sound) return states.push_back(std::move(state)), Status{};
      ++damaged;  // the one before it will do
    }
  };
  Status trouble;
  auto status = each_row(newest, [&](const Statement& found) {
    Date as_of;
    State state;
    const bool sound = read_state<Memory>(found, layouts, as_of, state, key);
    if (!sound) ++damaged;
    if (sound && (!before || as_of < *before)) states.push_back(std::move(state));
    else if (!sound || before) trouble = add_earlier(state);
    return trouble.has_value();
  });
  if (!status || !trouble) return tl::unexpected(!status ? status.error() : trouble.error());
  return states;
}

}  // namespace

// --- writing ---

template <typename Key, typename BindKey>
Status SqliteJournal::write_state(StatePuts& puts, Date as_of, std::int64_t layout, const std::string& body, Key key,
                                  BindKey bind_key) {
  const auto put_into = [&](Statement& statement) {
    RowWriter row(statement);
    row(as_of), key(row), row(layout);
    row.put_blob(body);
    row.end();
    return statement.run();
  };
  (void)bind_key(puts.find);
  const auto found = puts.find.step();
  if (!found) return tl::unexpected(found.error());
  const bool is_of_before = *found && puts.find.integer(0) < as_of.days;  // seldom, and costs as much as the rest
  puts.find.reset();
  if (is_of_before) {
    puts.retire.bind(bind_key(puts.retire) + 1, std::int64_t{as_of.days});
    if (auto status = puts.retire.run(); !status) return status;
  }
  if (auto status = put_into(puts.put); !status) return status;
  return database_.changes() > 0 ? Status{} : put_into(puts.put_before);
}

Status SqliteJournal::write_states(const JournalBatch& batch) {
  if (batch.watches.empty() && batch.symbols.empty()) return {};
  static const std::string kOfWatch = layout_of<WatchState>(), kOfSymbol = layout_of<SymbolMemory>();
  const auto watch_layout = layout_id(kOfWatch);
  if (!watch_layout) return tl::unexpected(watch_layout.error());
  const auto symbol_layout = layout_id(kOfSymbol);
  if (!symbol_layout) return tl::unexpected(symbol_layout.error());
  const auto write = [&](StatePuts& puts, const auto& state, std::int64_t layout, const std::string& body, auto key,
                         auto bind_key) {
    return write_state(
        puts, day_of(batch, state.day), layout, body, [&](RowWriter& row) { key(row, state); },
        [&](Statement& to) { return bind_key(to, state); });
  };
  for (const WatchState& one : batch.watches) {
    const std::string body = body_of<WatchState>(one);
    if (auto status = write(watch_puts_, one, *watch_layout, body, watch_key, bind_watch); !status) return status;
  }
  for (const SymbolState& one : batch.symbols) {
    const std::string body = body_of<SymbolMemory>(one);
    if (auto status = write(symbol_puts_, one, *symbol_layout, body, symbol_key, bind_symbol); !status) return status;
  }
  return note_days(batch);
}

Result<std::int64_t> SqliteJournal::layout_id(const std::string& fields) {
  const auto find = database_.kept("SELECT id FROM layouts WHERE fields = ?");
  if (!find) return tl::unexpected(find.error());
  (*find)->bind(1, std::string_view(fields));
  const auto found = (*find)->step();
  if (!found) return tl::unexpected(found.error());
  const std::int64_t id = *found ? (*find)->integer(0) : 0;
  (*find)->reset();
  if (*found) return id;
  const auto last = database_.number("SELECT max(id) FROM layouts");
  if (!last) return tl::unexpected(last.error());
  auto insert = database_.prepare("INSERT INTO layouts VALUES (?, ?, ?)");
  if (!insert) return tl::unexpected(insert.error());
  RowWriter row(*insert);
  row(*last + 1), row(fields);
  row.end();
  if (auto status = insert->run(); !status) return tl::unexpected(status.error());
  return *last + 1;
}

Status SqliteJournal::note_days(const JournalBatch& batch) {
  if (batch.watches.empty() && batch.symbols.empty()) return {};
  auto days = StateDays::load(database_);
  if (!days) return tl::unexpected(days.error());
  bool changed = false;
  for (const WatchState& state : batch.watches) changed |= days->include(day_of(batch, state.day));
  for (const SymbolState& state : batch.symbols) changed |= days->include(day_of(batch, state.day));
  if (!changed) return {};
  if (auto status = days->thin(database_, options_.days_kept); !status) return status;
  return days->save(database_);
}

// --- reading ---

Status SqliteJournal::refuse_thinned(std::optional<Date> before) {
  if (!before) return {};
  const auto days = StateDays::load(database_);
  if (!days) return tl::unexpected(days.error());
  if (days->exact_before(*before)) return {};
  return fail("journal " + database_.path() + ": the states before " + to_string(*before) +
              " are not kept any more (from " + to_string(days->thinned_before) +
              " on they are); use a journal of its own for that day");
}

Result<Layouts> SqliteJournal::layouts() {
  auto select = database_.prepare("SELECT * FROM layouts");
  if (!select) return tl::unexpected(select.error());
  Layouts all;
  auto status = each_row(*select, [&](const Statement& found) {
    RowReader row(found);
    std::int64_t id = 0;
    std::string fields;
    row(id), row(fields);
    if (row.end()) all[id] = fields_of(fields);
    else ++damaged_;
    return true;
  });
  if (!status) return tl::unexpected(status.error());
  return all;
}

Result<std::vector<WatchState>> SqliteJournal::watch_states(std::optional<Date> before) {
  if (auto status = refuse_thinned(before); !status) return tl::unexpected(status.error());
  const auto known = layouts();
  if (!known) return tl::unexpected(known.error());
  auto newest = database_.prepare("SELECT * FROM newest_watches ORDER BY symbol, pivot");
  if (!newest) return tl::unexpected(newest.error());
  auto earlier = database_.prepare(
      "SELECT * FROM watch_states WHERE symbol = ? AND pivot = ? AND as_of < ? ORDER BY as_of DESC LIMIT 1");
  if (!earlier) return tl::unexpected(earlier.error());
  return states_before<WatchState, WatchState>(*newest, *earlier, *known, before, watch_key, bind_watch, damaged_);
}

Result<std::vector<SymbolState>> SqliteJournal::symbol_states(std::optional<Date> before) {
  if (auto status = refuse_thinned(before); !status) return tl::unexpected(status.error());
  const auto known = layouts();
  if (!known) return tl::unexpected(known.error());
  auto newest = database_.prepare("SELECT * FROM newest_symbols ORDER BY symbol");
  if (!newest) return tl::unexpected(newest.error());
  auto earlier =
      database_.prepare("SELECT * FROM symbol_states WHERE symbol = ? AND as_of < ? ORDER BY as_of DESC LIMIT 1");
  if (!earlier) return tl::unexpected(earlier.error());
  return states_before<SymbolMemory, SymbolState>(*newest, *earlier, *known, before, symbol_key, bind_symbol, damaged_);
}

}  // namespace brimwatch
