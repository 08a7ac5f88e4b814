#pragma once
// The journal on SQLite. Opening is in open.cpp, writing in write.cpp, reading in read.cpp, states in
// states.cpp.
#include <map>
#include <string>

#include "journal/journal.h"
#include "journal/open_files.h"
#include "journal/sql.h"
#include "journal/state_body.h"
#include "journal/state_days.h"

namespace brimwatch {

class SqliteJournal final : public Journal {
 public:
  SqliteJournal(OpenFile file, Database database, const JournalOptions& options)
      : file_(std::move(file)), database_(std::move(database)), options_(options) {}
  /// Prepares the statements of commit(); not for a journal that is only read.
  Status prepare_writing();

  Status commit(const JournalBatch& batch, const Recipients& recipients, std::vector<NoticeRecord>* written) override;
  void tidy() override;
  Status each_notice(const NoticeQuery& query, const std::function<bool(const NoticeRecord&)>& consumer) override;
  Result<std::vector<DeliveryRow>> deliveries(const std::string& notice_id) override;
  Status each_delivery(const NoticeQuery& query,
                       const std::function<bool(const DeliveryRow&, std::chrono::seconds)>& consumer) override;
  Result<std::string> speaker(const std::string& notice_id) override;
  Result<std::vector<OpenDelivery>> open_deliveries() override;
  Status acknowledge(const std::string& notice_id, Timestamp at) override;
  Result<bool> acknowledged(const std::string& notice_id) override;
  Result<std::vector<Acknowledgement>> acknowledgements(std::int64_t after_seq) override;
  Result<std::vector<Answer>> answers(std::optional<Date> from, std::optional<Date> to) override;
  Result<int> highest_count(Date day, const std::string& symbol, NoticeKind kind) override;
  Result<std::vector<WatchState>> watch_states(std::optional<Date> before) override;
  Result<std::vector<SymbolState>> symbol_states(std::optional<Date> before) override;
  Result<std::vector<DayRecord>> days(const std::string& symbol, Date before, int most) override;
  Result<CarriedDays> newest_days() override;
  Status each_day(std::optional<Date> from, std::optional<Date> to,
                  const std::function<bool(const DayRecord&)>& consumer) override;
  Result<std::vector<Hole>> holes(Timestamp from, Timestamp to) override;
  [[nodiscard]] std::uint64_t damaged() const override { return damaged_; }
  [[nodiscard]] std::string losses() const override;
  /// What is wrong with the file, in SQLite's words; empty: nothing.
  void set_unsound(std::string what) { unsound_ = std::move(what); }
  void abandon() override { database_.abandon(); }

 private:
  /// How a state is written, see states.cpp.
  struct StatePuts {
    Statement find;        ///< of which day what stands there is
    Statement retire;      ///< what stands there, of an earlier day, goes to the table of before
    Statement put;         ///< in its place, unless what stands there is of a later day
    Statement put_before;  ///< else it goes to the table of before itself
  };

  Status write_notices(const JournalBatch& batch, const Recipients& recipients, std::vector<NoticeRecord>& fresh);
  Status write_new_deliveries(std::int64_t seq, const std::vector<std::string>& channels);
  Status write_speaker(std::int64_t seq, const std::string& member);
  Status write_crossing(std::int64_t seq, const Notice& notice);
  Result<bool> has_crossings();
  Status read_recipients(const std::string& which,
                         const std::function<DeliveryRow*(std::int64_t, const std::string&)>& find);
  Status write_deliveries(const JournalBatch& batch);
  Status write_delivery(std::int64_t seq, const DeliveryRow& row);
  Status write_states(const JournalBatch& batch);
  template <typename Key, typename BindKey>
  Status write_state(StatePuts& puts, Date as_of, std::int64_t layout, const std::string& body, Key key,
                     BindKey bind_key);
  Result<std::int64_t> layout_id(const std::string& fields);
  Result<std::map<std::int64_t, std::vector<LayoutField>>> layouts();
  Status write_days(const JournalBatch& batch);
  Status write_answers(const JournalBatch& batch);
  Status write_acknowledgement(std::int64_t notice, Timestamp at);
  Status note_days(const JournalBatch& batch);
  Result<std::int64_t> seq_of(const std::string& notice_id);  ///< 0 when there is none
  Status refuse_thinned(std::optional<Date> before);

  OpenFile file_;  ///< until the database is closed
  Database database_;
  JournalOptions options_;
  StateDays state_days_;
  std::uint64_t damaged_ = 0;
  std::string unsound_;
  Statement insert_notice_, put_crossing_, put_speaker_, find_notice_, put_delivery_, put_recipient_, put_day_, put_hole_,
      insert_answer_;
  StatePuts watch_puts_, symbol_puts_;
};

}  // namespace brimwatch
