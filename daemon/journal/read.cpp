// Reading: every row's sum is looked at; a row that does not fit is left out and counted.
#include <algorithm>
#include <limits>
#include <optional>

#include "journal/records.h"
#include "journal/row_io.h"
#include "journal/sqlite_journal.h"

namespace brimwatch {
namespace {

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

std::string where_of(const NoticeQuery& query) {
  std::string where = " WHERE 1";
  const auto dated = [&](const std::optional<Date>& date, std::string_view comparison) {
    if (date) where.append(" AND day ").append(comparison).append(" ").append(std::to_string(date->days));
  };
  dated(query.day, "="), dated(query.from, ">="), dated(query.to, "<=");
  if (!query.symbol.empty()) where += " AND symbol = ?1";
  for (std::size_t i = 0; i < query.kinds.size(); ++i) {
    where.append(i == 0 ? " AND kind IN ('" : ", '").append(to_string(query.kinds[i])).append("'");
  }
  return query.kinds.empty() ? where : where + ")";
}

std::string select_notices(const NoticeQuery& query, bool with_crossings) {
  std::string sql = with_crossings ? "SELECT n.*, c.* FROM notices AS n LEFT JOIN crossings AS c ON c.notice = n.seq"
                                   : "SELECT * FROM notices";
  sql += where_of(query);
  if (query.limit <= 0) return sql + " ORDER BY seq";
  return "SELECT * FROM (" + sql + " ORDER BY seq DESC LIMIT " + std::to_string(query.limit) + ") ORDER BY seq";
}

bool read_notice(RowReader& row, NoticeRecord& record) {
  std::int64_t seq = 0;
  row(seq);
  notice_columns(row, record);
  record.notice.bought = bought_in(record.notice.detail);
  return row.end();
}

/// The row of the crossing behind that of its notice. False where there is one and it is not what was written.
bool read_crossing(const Statement& found, int first, VolumeView& volume) {
  if (found.is_null(first)) return true;
  RowReader row(found, first);
  std::int64_t seq = 0;
  VolumeView read = volume;
  row(seq);
  crossing_columns(row, read);
  if (!row.end()) return false;
  volume = read;
  return true;
}

bool read_delivery(RowReader& row, std::int64_t& seq, DeliveryRow& delivery) {
  row(seq);
  delivery_columns(row, delivery);
  return row.end();
}

using Layouts = std::map<std::int64_t, std::vector<LayoutField>>;

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

/// Keeps the newest version of each key that belongs to a day before `before`; rows come by key, then day.
template <typename Memory, typename State, typename Key, typename SameKey>
Result<std::vector<State>> newest_versions(Statement& statement, const Layouts& layouts, std::optional<Date> before,
                                           Key key, SameKey same_key, std::uint64_t& damaged) {
  std::vector<State> states;
  auto status = each_row(statement, [&](const Statement& found) {
    Date as_of;
    State state;
    if (!read_state<Memory>(found, layouts, as_of, state, key)) {
      ++damaged;
    } else if (!before || as_of < *before) {
      if (!states.empty() && same_key(states.back(), state)) states.back() = std::move(state);
      else states.push_back(std::move(state));
    }
    return true;
  });
  if (!status) return tl::unexpected(status.error());
  return states;
}

/// The newest version of each key without a look at the older ones, however many years there are: from the last key to
/// the first, one seek a key. Of `next` the parameters are a key and the day before which the row must be.
template <typename Memory, typename State, typename Key, typename Bind, typename Compare>
Result<std::vector<State>> newest_of_each(Statement& last, Statement& next, const Layouts& layouts, Key key, Bind bind,
                                          Compare compare, std::uint64_t& damaged) {
  constexpr std::int64_t kWholeKey = std::numeric_limits<std::int64_t>::min();
  std::vector<State> states;
  std::optional<std::pair<State, std::int64_t>> bound;  // what comes next is before it
  for (Statement* statement = &last;; statement = &next) {
    const auto row = statement->step();
    if (!row) return tl::unexpected(row.error());
    if (!*row) break;
    Date as_of;
    State state;
    const bool sound = read_state<Memory>(*statement, layouts, as_of, state, key);
    const std::int64_t day = statement->integer(0);
    statement->reset();
    if (bound) {
      const auto order = compare(state, bound->first);
      if (order > 0 || (order == 0 && day >= bound->second))
        return fail("the states do not stand in order; it is damaged");
    }
    if (sound) states.push_back(state);
    else ++damaged;
    bound = {std::move(state), sound ? kWholeKey : day};  // of a damaged one the version before it will do
    bind(next, bound->first, bound->second);
  }
  std::reverse(states.begin(), states.end());
  return states;
}

}  // namespace

Status SqliteJournal::each_notice(const NoticeQuery& query, const std::function<bool(const NoticeRecord&)>& consumer) {
  const auto crossings = has_crossings();
  if (!crossings) return tl::unexpected(crossings.error());
  auto select = database_.prepare(select_notices(query, *crossings));
  if (!select) return tl::unexpected(select.error());
  if (!query.symbol.empty()) select->bind(1, std::string_view(query.symbol));
  return each_row(*select, [&](const Statement& found) {
    RowReader row(found);
    NoticeRecord record;
    if (!read_notice(row, record)) {
      ++damaged_;
      return true;
    }
    if (*crossings && !read_crossing(found, row.next(), record.notice.volume)) ++damaged_;
    return consumer(record);
  });
}

/// A journal of an older version that is only read has no such table.
Result<bool> SqliteJournal::has_crossings() {
  const auto tables = database_.number("SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name = 'crossings'");
  if (!tables) return tl::unexpected(tables.error());
  return *tables > 0;
}

/// Gives each row of `recipients` that belongs to one of the deliveries `which` to the row that `find` finds.
Status SqliteJournal::read_recipients(const std::string& which,
                                      const std::function<DeliveryRow*(std::int64_t, const std::string&)>& find) {
  auto select =
      database_.prepare("SELECT r.* FROM recipients AS r JOIN deliveries AS d USING (notice, channel) WHERE d." + which +
                        " ORDER BY r.notice, r.channel, r.address");
  if (!select) return tl::unexpected(select.error());
  return each_row(*select, [&](const Statement& found) {
    RowReader row(found);
    std::int64_t notice = 0;
    std::string channel, address;
    row(notice), row(channel), row(address);
    DeliveryRow* const delivery = row.end() ? find(notice, channel) : nullptr;
    if (delivery != nullptr) delivery->taken_by.push_back(std::move(address));
    else ++damaged_;
    return true;
  });
}

Result<std::string> SqliteJournal::speaker(const std::string& notice_id) {
  auto select = database_.prepare("SELECT * FROM speakers WHERE notice = (SELECT seq FROM notices WHERE id = ?)");
  if (!select) return std::string();  // a journal of before there were any
  select->bind(1, std::string_view(notice_id));
  std::string member;
  const auto status = each_row(*select, [&](const Statement& found) {
    RowReader row(found);
    (void)row.get();
    row(member);
    if (!row.end()) member.clear(), ++damaged_;
    return false;
  });
  if (!status) return tl::unexpected(status.error());
  return member;
}

Result<std::vector<DeliveryRow>> SqliteJournal::deliveries(const std::string& notice_id) {
  auto select = database_.prepare(
      "SELECT * FROM deliveries WHERE notice = (SELECT seq FROM notices WHERE id = ?) ORDER BY channel");
  if (!select) return tl::unexpected(select.error());
  select->bind(1, std::string_view(notice_id));
  std::vector<DeliveryRow> rows;
  std::int64_t seq = 0;
  auto status = each_row(*select, [&](const Statement& found) {
    RowReader row(found);
    DeliveryRow delivery;
    delivery.notice_id = notice_id;
    if (read_delivery(row, seq, delivery)) rows.push_back(std::move(delivery));
    else ++damaged_;
    return true;
  });
  if (status && !rows.empty()) {
    status = read_recipients("notice = " + std::to_string(seq), [&](std::int64_t, const std::string& channel) {
      const auto row =
          std::find_if(rows.begin(), rows.end(), [&](const DeliveryRow& one) { return one.channel == channel; });
      return row == rows.end() ? nullptr : &*row;
    });
  }
  if (!status) return tl::unexpected(status.error());
  return rows;
}

Status SqliteJournal::each_delivery(const NoticeQuery& query,
                                    const std::function<bool(const DeliveryRow&, std::chrono::seconds)>& consumer) {
  auto select =
      database_.prepare("SELECT d.*, n.id, n.utc_offset FROM deliveries AS d JOIN notices AS n ON n.seq = d.notice" +
                        where_of(query) + " ORDER BY d.notice, d.channel");
  if (!select) return tl::unexpected(select.error());
  if (!query.symbol.empty()) select->bind(1, std::string_view(query.symbol));
  return each_row(*select, [&](const Statement& found) {
    RowReader row(found);
    std::int64_t seq = 0;
    DeliveryRow delivery;
    if (!read_delivery(row, seq, delivery)) return ++damaged_, true;
    delivery.notice_id = found.text(row.next());
    return consumer(delivery, std::chrono::seconds{found.integer(row.next() + 1)});
  });
}

Result<std::vector<OpenDelivery>> SqliteJournal::open_deliveries() {
  auto select = database_.prepare(
      "SELECT d.*, n.*, a.seq IS NOT NULL FROM deliveries AS d JOIN notices AS n ON n.seq = d.notice "
      "LEFT JOIN acknowledgements AS a ON a.notice = d.notice WHERE d.done = 0 ORDER BY d.notice, d.channel");
  if (!select) return tl::unexpected(select.error());
  std::vector<OpenDelivery> open;
  std::map<std::pair<std::int64_t, std::string>, std::size_t> places;
  auto status = each_row(*select, [&](const Statement& found) {
    OpenDelivery one;
    RowReader row(found);
    std::int64_t seq = 0;
    const bool sound = read_delivery(row, seq, one.row);
    RowReader rest(found, row.next());
    if (read_notice(rest, one.record) && sound) {
      one.row.notice_id = one.record.id;
      one.acknowledged = found.integer(rest.next()) != 0;
      places[{seq, one.row.channel}] = open.size();
      open.push_back(std::move(one));
    } else {
      ++damaged_;
    }
    return true;
  });
  if (status) {
    status = read_recipients("done = 0", [&](std::int64_t seq, const std::string& channel) {
      const auto place = places.find({seq, channel});
      return place == places.end() ? nullptr : &open[place->second].row;
    });
  }
  if (!status) return tl::unexpected(status.error());
  return open;
}

Result<bool> SqliteJournal::acknowledged(const std::string& notice_id) {
  auto find = database_.prepare("SELECT 1 FROM acknowledgements WHERE notice = (SELECT seq FROM notices WHERE id = ?)");
  if (!find) return tl::unexpected(find.error());
  find->bind(1, std::string_view(notice_id));
  return find->step();
}

Result<std::vector<Acknowledgement>> SqliteJournal::acknowledgements(std::int64_t after_seq) {
  auto select = database_.prepare(
      "SELECT a.*, n.id FROM acknowledgements AS a JOIN notices AS n ON n.seq = a.notice WHERE a.seq > ? ORDER BY a.seq");
  if (!select) return tl::unexpected(select.error());
  select->bind(1, after_seq);
  std::vector<Acknowledgement> all;
  auto status = each_row(*select, [&](const Statement& found) {
    Acknowledgement one;
    std::int64_t notice = 0;
    RowReader row(found);
    row(one.seq), row(notice), row(one.at);
    if (row.end()) {
      one.notice_id = found.text(row.next());
      all.push_back(std::move(one));
    } else {
      ++damaged_;
    }
    return true;
  });
  if (!status) return tl::unexpected(status.error());
  return all;
}

Result<std::vector<Answer>> SqliteJournal::answers(std::optional<Date> from, std::optional<Date> to) {
  auto select = database_.prepare("SELECT * FROM answers WHERE day >= ? AND day <= ? ORDER BY seq");
  if (!select) return tl::unexpected(select.error());
  select->bind(1, std::int64_t{from ? from->days : std::numeric_limits<std::int32_t>::min()});
  select->bind(2, std::int64_t{to ? to->days : std::numeric_limits<std::int32_t>::max()});
  std::vector<Answer> all;
  auto status = each_row(*select, [&](const Statement& found) {
    RowReader row(found);
    std::int64_t seq = 0;
    Answer answer;
    row(seq);
    answer_columns(row, answer);
    if (row.end()) all.push_back(std::move(answer));
    else ++damaged_;
    return true;
  });
  if (!status) return tl::unexpected(status.error());
  return all;
}

Result<int> SqliteJournal::highest_count(Date day, const std::string& symbol, NoticeKind kind) {
  auto find = database_.prepare("SELECT max(count) FROM notices WHERE day = ? AND symbol = ? AND kind = ?");
  if (!find) return tl::unexpected(find.error());
  find->bind(1, std::int64_t{day.days});
  find->bind(2, std::string_view(symbol));
  find->bind(3, to_string(kind));
  const auto row = find->step();
  if (!row) return tl::unexpected(row.error());
  return static_cast<int>(find->integer(0));
}

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
  const auto key = [](RowReader& row, WatchState& state) { row(state.symbol), row(state.pivot); };
  if (!before) {
    constexpr const char* kOrder = " ORDER BY symbol DESC, pivot DESC, as_of DESC LIMIT 1";
    auto last = database_.prepare(std::string("SELECT * FROM watch_states") + kOrder);
    auto next =
        database_.prepare(std::string("SELECT * FROM watch_states WHERE (symbol, pivot, as_of) < (?, ?, ?)") + kOrder);
    if (!last || !next) return tl::unexpected(last ? next.error() : last.error());
    const auto bind = [](Statement& to, const WatchState& state, std::int64_t day) {
      to.bind(1, std::string_view(state.symbol)), to.bind(2, state.pivot.micros), to.bind(3, day);
    };
    const auto compare = [](const WatchState& a, const WatchState& b) {
      const int order = a.symbol.compare(b.symbol);
      return order != 0 ? order : a.pivot < b.pivot ? -1 : b.pivot < a.pivot ? 1 : 0;
    };
    return newest_of_each<WatchState, WatchState>(*last, *next, *known, key, bind, compare, damaged_);
  }
  auto select = database_.prepare("SELECT * FROM watch_states ORDER BY symbol, pivot, as_of");
  if (!select) return tl::unexpected(select.error());
  const auto same = [](const WatchState& a, const WatchState& b) { return a.symbol == b.symbol && a.pivot == b.pivot; };
  return newest_versions<WatchState, WatchState>(*select, *known, before, key, same, damaged_);
}

Result<std::vector<SymbolState>> SqliteJournal::symbol_states(std::optional<Date> before) {
  if (auto status = refuse_thinned(before); !status) return tl::unexpected(status.error());
  const auto known = layouts();
  if (!known) return tl::unexpected(known.error());
  const auto key = [](RowReader& row, SymbolState& state) { row(state.symbol); };
  if (!before) {
    constexpr const char* kOrder = " ORDER BY symbol DESC, as_of DESC LIMIT 1";
    auto last = database_.prepare(std::string("SELECT * FROM symbol_states") + kOrder);
    auto next = database_.prepare(std::string("SELECT * FROM symbol_states WHERE (symbol, as_of) < (?, ?)") + kOrder);
    if (!last || !next) return tl::unexpected(last ? next.error() : last.error());
    const auto bind = [](Statement& to, const SymbolState& state, std::int64_t day) {
      to.bind(1, std::string_view(state.symbol)), to.bind(2, day);
    };
    const auto compare = [](const SymbolState& a, const SymbolState& b) { return a.symbol.compare(b.symbol); };
    return newest_of_each<SymbolMemory, SymbolState>(*last, *next, *known, key, bind, compare, damaged_);
  }
  auto select = database_.prepare("SELECT * FROM symbol_states ORDER BY symbol, as_of");
  if (!select) return tl::unexpected(select.error());
  const auto same = [](const SymbolState& a, const SymbolState& b) { return a.symbol == b.symbol; };
  return newest_versions<SymbolMemory, SymbolState>(*select, *known, before, key, same, damaged_);
}

Result<std::vector<DayRecord>> SqliteJournal::days(const std::string& symbol, Date before, int most) {
  auto select = database_.prepare(
      "SELECT * FROM (SELECT * FROM days WHERE symbol = ? AND day < ? ORDER BY day DESC LIMIT ?) ORDER BY day");
  if (!select) return tl::unexpected(select.error());
  select->bind(1, std::string_view(symbol));
  select->bind(2, std::int64_t{before.days});
  select->bind(3, std::int64_t{most});
  std::vector<DayRecord> all;
  auto status = each_row(*select, [&](const Statement& found) {
    RowReader row(found);
    DayRecord record;
    day_columns(row, record);
    if (row.end()) all.push_back(std::move(record));
    else ++damaged_;
    return true;
  });
  if (!status) return tl::unexpected(status.error());
  return all;
}

Status SqliteJournal::each_day(std::optional<Date> from, std::optional<Date> to,
                               const std::function<bool(const DayRecord&)>& consumer) {
  auto select = database_.prepare("SELECT * FROM days WHERE day >= ? AND day <= ? ORDER BY symbol, day");
  if (!select) return tl::unexpected(select.error());
  select->bind(1, std::int64_t{from ? from->days : std::numeric_limits<std::int32_t>::min()});
  select->bind(2, std::int64_t{to ? to->days : std::numeric_limits<std::int32_t>::max()});
  return each_row(*select, [&](const Statement& found) {
    RowReader row(found);
    DayRecord record;
    day_columns(row, record);
    return row.end() ? consumer(record) : (++damaged_, true);
  });
}

Result<std::vector<Hole>> SqliteJournal::holes(Timestamp from, Timestamp to) {
  auto select = database_.prepare("SELECT * FROM holes WHERE end >= ? AND begin <= ? ORDER BY begin, feed, symbol");
  if (!select) return tl::unexpected(select.error());
  select->bind(1, from.ns);
  select->bind(2, to.ns);
  std::vector<Hole> all;
  auto status = each_row(*select, [&](const Statement& found) {
    RowReader row(found);
    Hole hole;
    hole_columns(row, hole);
    if (row.end()) all.push_back(std::move(hole));
    else ++damaged_;
    return true;
  });
  if (!status) return tl::unexpected(status.error());
  return all;
}

std::string SqliteJournal::losses() const {
  if (unsound_.empty() && damaged_ == 0) return {};
  std::string text = "journal " + database_.path() + ": ";
  if (damaged_ > 0)
    text += std::to_string(damaged_) + (damaged_ == 1 ? " damaged row was" : " damaged rows were") + " left out; ";
  if (unsound_.empty()) return text + "the rest is as it was written";
  return text + "the file is damaged (" + unsound_ +
         ") and rows may be missing; the others are as they were written. Move it aside, together with its -wal, before "
         "the next start";
}

Result<std::vector<NoticeRecord>> Journal::notices(const NoticeQuery& query) {
  std::vector<NoticeRecord> all;
  auto status = each_notice(query, [&](const NoticeRecord& record) {
    all.push_back(record);
    return true;
  });
  if (!status) return tl::unexpected(status.error());
  return all;
}

}  // namespace brimwatch
