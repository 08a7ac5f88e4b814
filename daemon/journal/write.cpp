// Writing: everything in one transaction, with statements prepared once.
#include <algorithm>

#include "journal/newest_days.h"
#include "journal/records.h"
#include "journal/row_io.h"
#include "journal/sqlite_journal.h"

namespace brimwatch {
namespace {

constexpr int kLogPages = 1000;      ///< of 4 KiB, then the log is brought into the file
constexpr int kLogPagesMost = 8000;  ///< then nobody can wait for a better moment any more

/// "INSERT ... VALUES (?, ?, ...)" with a place for every column.
std::string values(std::string_view head, int columns) {
  std::string sql(head);
  sql += " VALUES (?";
  for (int i = 1; i < columns; ++i) sql += ", ?";
  return sql + ")";
}

/// A state of an older day than the one that stands there changes nothing there.
constexpr const char* kWhereNewer =
    " ON CONFLICT DO UPDATE SET as_of = excluded.as_of, layout = excluded.layout, body = excluded.body, sum = "
    "excluded.sum WHERE excluded.as_of >= ";

template <typename Record, typename Columns>
int width(Columns columns) {
  RowCount count;
  const Record record{};
  columns(count, record);
  return count.columns;
}

/// Writes one row of values into a prepared statement; `first` stands before the record's own columns.
template <typename Record, typename Columns>
Status put(Statement& statement, const Record& record, Columns columns) {
  RowWriter row(statement);
  columns(row, record);
  row.end();
  return statement.run();
}

const auto notice_row = [](auto& row, const auto& record) { notice_columns(row, record); };
const auto day_row = [](auto& row, const auto& record) { day_columns(row, record); };
const auto hole_row = [](auto& row, const auto& hole) { hole_columns(row, hole); };
const auto answer_row = [](auto& row, const auto& answer) { answer_columns(row, answer); };
const auto delivery_row = [](auto& row, const auto& delivery) { delivery_columns(row, delivery); };

}  // namespace

Recipients to_all(std::vector<std::string> channels) {
  return [channels = std::move(channels)](const NoticeRecord&) { return channels; };
}

Status SqliteJournal::prepare_writing() {
  database_.bring_in_at(options_.tidied_apart ? kLogPagesMost : kLogPages);
  // One column more than the record's own: the row's number or the day it belongs to.
  const std::pair<Statement*, std::string> all[] = {
      {&insert_notice_,
       values("INSERT INTO notices", width<NoticeRecord>(notice_row) + 1) + " ON CONFLICT(id) DO NOTHING"},
      {&put_crossing_, values("INSERT OR REPLACE INTO crossings", 6)},
      {&put_speaker_, values("INSERT OR REPLACE INTO speakers", 3)},
      {&find_notice_, "SELECT seq FROM notices WHERE id = ?"},
      {&put_delivery_, values("INSERT OR REPLACE INTO deliveries", width<DeliveryRow>(delivery_row) + 1)},
      {&put_recipient_, values("INSERT OR REPLACE INTO recipients", 4)},
      {&watch_puts_.find, "SELECT as_of FROM newest_watches WHERE symbol = ? AND pivot = ?"},
      {&watch_puts_.retire,
       "INSERT OR REPLACE INTO watch_states SELECT * FROM newest_watches WHERE symbol = ? AND pivot = ? AND as_of < ?"},
      {&watch_puts_.put, values("INSERT INTO newest_watches", 6) + kWhereNewer + "newest_watches.as_of"},
      {&watch_puts_.put_before, values("INSERT OR REPLACE INTO watch_states", 6)},
      {&symbol_puts_.find, "SELECT as_of FROM newest_symbols WHERE symbol = ?"},
      {&symbol_puts_.retire,
       "INSERT OR REPLACE INTO symbol_states SELECT * FROM newest_symbols WHERE symbol = ? AND as_of < ?"},
      {&symbol_puts_.put, values("INSERT INTO newest_symbols", 5) + kWhereNewer + "newest_symbols.as_of"},
      {&symbol_puts_.put_before, values("INSERT OR REPLACE INTO symbol_states", 5)},
      {&put_day_, values("INSERT OR REPLACE INTO days", width<DayRecord>(day_row))},
      {&put_hole_, values("INSERT OR REPLACE INTO holes", width<Hole>(hole_row))},
      {&insert_answer_, values("INSERT OR REPLACE INTO answers", width<Answer>(answer_row) + 1)}};
  for (const auto& [statement, sql] : all) {
    auto prepared = database_.prepare(sql);
    if (!prepared) return tl::unexpected(prepared.error());
    *statement = std::move(*prepared);
  }
  return {};
}

Status SqliteJournal::commit(const JournalBatch& batch, const Recipients& recipients,
                             std::vector<NoticeRecord>* written) {
  if (batch.empty()) return {};
  if (!file_.is_at(database_.path())) {
    return fail("journal " + database_.path() +
                ": moved away or replaced while it was in use; put it back, or move its -wal and -shm after it");
  }
  auto transaction = Transaction::begin(database_);
  if (!transaction) return tl::unexpected(transaction.error());
  std::vector<NoticeRecord> fresh;
  if (auto status = write_notices(batch, recipients, fresh); !status) return status;
  if (auto status = write_states(batch); !status) return status;
  if (auto status = write_days(batch); !status) return status;
  if (auto status = write_deliveries(batch); !status) return status;
  if (auto status = write_answers(batch); !status) return status;
  if (auto status = transaction->commit(); !status) return status;
  if (written != nullptr) *written = std::move(fresh);
  return {};
}

void SqliteJournal::tidy() {
  if (database_.log_pages() >= kLogPages) database_.bring_in();
}

Status SqliteJournal::write_notices(const JournalBatch& batch, const Recipients& recipients,
                                    std::vector<NoticeRecord>& fresh) {
  if (batch.notices.empty()) return {};
  const auto newest = database_.kept("SELECT max(seq) FROM notices");
  if (!newest) return tl::unexpected(newest.error());
  const auto last = (*newest)->step();
  if (!last) return tl::unexpected(last.error());
  std::int64_t seq = *last ? (*newest)->integer(0) : 0;
  (*newest)->reset();
  for (const NoticeRecord& record : batch.notices) {
    RowWriter row(insert_notice_);
    row(seq + 1);
    notice_columns(row, record);
    row.end();
    if (auto status = insert_notice_.run(); !status) return status;
    if (database_.changes() == 0) continue;  // there already: a second pass over the same ticks
    ++seq;
    fresh.push_back(record);
    if (auto status = write_crossing(seq, record.notice); !status) return status;
    if (const auto by = batch.speakers.find(record.id); by != batch.speakers.end())
      if (auto status = write_speaker(seq, by->second); !status) return status;
    if (!recipients) continue;
    if (auto status = write_new_deliveries(seq, recipients(record)); !status) return status;
  }
  return {};
}

/// What was not judged has nothing to learn from.
Status SqliteJournal::write_speaker(std::int64_t seq, const std::string& member) {
  RowWriter row(put_speaker_);
  row(seq), row(member);
  row.end();
  return put_speaker_.run();
}

Status SqliteJournal::write_crossing(std::int64_t seq, const Notice& notice) {
  if (!is_pivot_crossing(notice.kind) || !(notice.volume.minutes >= 0)) return {};
  RowWriter row(put_crossing_);
  row(seq);
  crossing_columns(row, notice.volume);
  row.end();
  return put_crossing_.run();
}

Status SqliteJournal::write_new_deliveries(std::int64_t seq, const std::vector<std::string>& channels) {
  DeliveryRow pending;
  for (const std::string& channel : channels) {
    pending.channel = channel;
    if (auto status = write_delivery(seq, pending); !status) return status;
  }
  return {};
}

Status SqliteJournal::write_delivery(std::int64_t seq, const DeliveryRow& delivery) {
  RowWriter row(put_delivery_);
  row(seq);
  delivery_columns(row, delivery);
  row.end();
  if (auto status = put_delivery_.run(); !status) return status;
  for (const std::string& address : delivery.taken_by) {  // all of them: those of before went with the row of before
    RowWriter recipient(put_recipient_);
    recipient(seq), recipient(delivery.channel), recipient(address);
    recipient.end();
    if (auto status = put_recipient_.run(); !status) return status;
  }
  return {};
}

/// Rows of a notice that is not in the journal are left out: it was told while the disk was full and never got there.
Status SqliteJournal::write_deliveries(const JournalBatch& batch) {
  for (const DeliveryRow& delivery : batch.deliveries) {
    const auto seq = seq_of(delivery.notice_id);
    if (!seq) return tl::unexpected(seq.error());
    if (*seq == 0) continue;
    if (auto status = write_delivery(*seq, delivery); !status) return status;
  }
  return {};
}

Status SqliteJournal::write_days(const JournalBatch& batch) {
  for (const DayRecord& record : batch.days) {
    if (auto status = put(put_day_, record, day_row); !status) return status;
    if (auto status = note_newest_day(database_, record); !status) return status;
  }
  for (const Hole& hole : batch.holes) {
    if (auto status = put(put_hole_, hole, hole_row); !status) return status;
  }
  return {};
}

/// A row that is there already counts once, in its new place: a batch that comes again keeps its order.
Status SqliteJournal::write_answers(const JournalBatch& batch) {
  if (batch.answers.empty()) return {};
  const auto last = database_.number("SELECT max(seq) FROM answers");
  if (!last) return tl::unexpected(last.error());
  std::int64_t seq = *last;
  for (const Answer& answer : batch.answers) {
    RowWriter row(insert_answer_);
    row(seq + 1);
    answer_columns(row, answer);
    row.end();
    if (auto status = insert_answer_.run(); !status) return status;
    ++seq;
    if (answer.kind != AnswerKind::acknowledge) continue;
    const auto notice = seq_of(answer.notice);
    if (!notice) return tl::unexpected(notice.error());
    if (*notice == 0) continue;  // told while the disk was full, and never kept
    if (auto status = write_acknowledgement(*notice, answer.at); !status) return status;
  }
  return {};
}

Status SqliteJournal::acknowledge(const std::string& notice_id, Timestamp at) {
  auto transaction = Transaction::begin(database_);
  if (!transaction) return tl::unexpected(transaction.error());
  const auto notice = seq_of(notice_id);
  if (!notice) return tl::unexpected(notice.error());
  if (*notice == 0) {
    return fail("journal " + database_.path() + ": no notice \"" + notice_id +
                "\"; `brimwatch journal --deliveries` lists their ids");
  }
  if (auto status = write_acknowledgement(*notice, at); !status) return status;
  return transaction->commit();
}

Status SqliteJournal::write_acknowledgement(std::int64_t notice, Timestamp at) {
  const auto last = database_.number("SELECT max(seq) FROM acknowledgements");
  if (!last) return tl::unexpected(last.error());
  auto insert = database_.prepare("INSERT INTO acknowledgements VALUES (?, ?, ?, ?) ON CONFLICT(notice) DO NOTHING");
  if (!insert) return tl::unexpected(insert.error());
  RowWriter row(*insert);
  row(*last + 1), row(notice), row(at);
  row.end();
  return insert->run();
}

Result<std::int64_t> SqliteJournal::seq_of(const std::string& notice_id) {
  find_notice_.bind(1, std::string_view(notice_id));
  const auto row = find_notice_.step();
  if (!row) return tl::unexpected(row.error());
  const std::int64_t seq = *row ? find_notice_.integer(0) : 0;
  find_notice_.reset();
  return seq;
}

Status Journal::update(const DeliveryRow& row) {
  JournalBatch batch;
  batch.deliveries.push_back(row);
  return commit(batch);
}

}  // namespace brimwatch
