// Reading: every row's sum is looked at; a row that does not fit is left out and counted.
#include <algorithm>
#include <limits>
#include <optional>

#include "journal/newest_days.h"
#include "journal/records.h"
#include "journal/row_io.h"
#include "journal/sqlite_journal.h"

namespace brimwatch {
namespace {

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
  auto select = database_.prepare(
      "SELECT r.* FROM deliveries AS d CROSS JOIN recipients AS r ON r.notice = d.notice AND r.channel = "
      "d.channel WHERE d." +
      which + " ORDER BY r.notice, r.channel, r.address");
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

Result<CarriedDays> SqliteJournal::newest_days() {
  CarriedDays all;
  if (auto status = read_newest_days(database_, all, damaged_); !status) return tl::unexpected(status.error());
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
