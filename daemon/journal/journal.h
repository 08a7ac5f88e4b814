#pragma once
// The journal: one SQLite database (WAL, synchronous FULL) with notices, deliveries, day records, feed holes and the
// engine's state. State and the notices it caused are one transaction; a notice's id is unique, so a second pass over the
// same ticks writes nothing twice. Every row carries a sum of its values: a damaged one is left out and told, never
// returned as if it were true.
//
// A Journal belongs to one thread at a time. Readers open their own (open_read_only), also while a daemon has it open.
#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/answer.h"
#include "core/delivery.h"
#include "core/notice.h"
#include "core/result.h"
#include "core/state.h"

namespace brimwatch {

/// What becomes durable together.
struct JournalBatch {
  std::vector<NoticeRecord> notices;
  std::vector<WatchState> watches;
  std::vector<SymbolState> symbols;
  std::vector<DayRecord> days;
  std::vector<Hole> holes;
  std::vector<DeliveryRow> deliveries;          ///< rows that changed; of notices written before or in this batch
  std::map<std::string, std::string> speakers;  ///< of several machines, by a new notice's id: which said it
  /// New ones, or known ones that take effect anew, after all before; an acknowledgement counts as one of its notice.
  std::vector<Answer> answers;
  /// Trade date that the states belong to; a state whose own `day` is later belongs to that. Without it, each to its own.
  std::optional<Date> day;

  [[nodiscard]] bool empty() const {
    return notices.empty() && watches.empty() && symbols.empty() && days.empty() && holes.empty() && deliveries.empty() &&
           answers.empty();
  }
};

/// Which channels a notice goes to: for each of them a pending delivery is written with the notice. Called on the thread
/// that commits.
using Recipients = std::function<std::vector<std::string>(const NoticeRecord&)>;
[[nodiscard]] Recipients to_all(std::vector<std::string> channels);

struct Acknowledgement {
  std::int64_t seq = 0;  ///< counts up
  std::string notice_id;
  Timestamp at;
};

/// A day as the feed carried it, in brief.
struct CarriedDay {
  Date day;
  Shares volume;
  double coverage = 1;
  bool half_day = false;
};
using CarriedDays = std::map<std::string, std::vector<CarriedDay>, std::less<>>;  ///< by symbol, oldest first

struct NoticeQuery {
  std::optional<Date> day{}, from{}, to{};  ///< trade dates, both ends included
  std::string symbol{};                     ///< empty: all
  std::vector<NoticeKind> kinds{};          ///< empty: all
  int limit = 0;                            ///< the newest so many; 0: all
};

struct JournalOptions {
  std::string vfs{};           ///< SQLite's name of the file layer; empty: the system's
  int days_kept = 90;          ///< calendar days for which states of earlier days stay to be had
  bool create = true;          ///< false: one that is not there is an error
  bool after_error = false;    ///< opened anew after a failed write: its log must begin anew as well
  bool check = true;           ///< false: a short visit to a journal that a daemon has open
  bool check_large = false;    ///< also one that takes long to look at: for who has the time (upkeep.h)
  bool any_version = false;    ///< open_read_only: an older or empty one too, for its rows are not asked for
  bool tidied_apart = false;   ///< tidy() is called when nobody waits: a commit does it only where that never comes
  int busy_timeout_ms = 5000;  ///< how long to wait for another process that writes
};

class Journal {
 public:
  /// Creates the file (mode 0600) and its directory where missing. A journal from a newer version, a corrupted one or a
  /// full disk is an error that says what to do; nothing is destroyed. A small journal is checked from end to end; a
  /// large one is not, so that it is open at once: each row's own sum is looked at when it is read.
  static Result<std::unique_ptr<Journal>> open(const std::string& path, const JournalOptions& options = {});
  /// Creates nothing. Of a damaged journal the sound part can be read; losses() says that there is damage.
  static Result<std::unique_ptr<Journal>> open_read_only(const std::string& path, const JournalOptions& options = {});
  virtual ~Journal() = default;

  /// One transaction: all or nothing. `written`, where given, gets the notices that were new, in order.
  virtual Status commit(const JournalBatch& batch, const Recipients& recipients, std::vector<NoticeRecord>* written) = 0;

  /// Between commits: what has gathered in the log goes into the file, where it is much. Takes as long as several
  /// commits.
  virtual void tidy() {}

  /// In the order in which they were written; the consumer returns false to stop. Rows before an error have been given.
  virtual Status each_notice(const NoticeQuery& query, const std::function<bool(const NoticeRecord&)>& consumer) = 0;
  virtual Result<std::vector<DeliveryRow>> deliveries(const std::string& notice_id) = 0;
  /// Of notices of these days, in their order; `offset` is the exchange's from UTC at the notice.
  virtual Status each_delivery(const NoticeQuery&, const std::function<bool(const DeliveryRow&, std::chrono::seconds)>&) {
    return {};
  }
  /// Which of several machines said it; empty: this one stands alone, or it is not known.
  virtual Result<std::string> speaker(const std::string&) { return std::string(); }
  /// Not yet final, oldest notice first, and whether acknowledged: what the dispatcher takes up after a restart.
  virtual Result<std::vector<OpenDelivery>> open_deliveries() = 0;
  /// An error when there is no such notice; fine when it has been acknowledged before.
  virtual Status acknowledge(const std::string& notice_id, Timestamp at) = 0;
  virtual Result<bool> acknowledged(const std::string& notice_id) = 0;
  /// Those with a greater number, in order: how a daemon hears of what another process wrote.
  virtual Result<std::vector<Acknowledgement>> acknowledgements(std::int64_t after_seq) = 0;
  /// Of these days of the exchange, both included, in the order in which they took effect.
  virtual Result<std::vector<Answer>> answers(std::optional<Date> from, std::optional<Date> to) = 0;
  /// The highest count of this kind on that day for that name (feed notices go on counting after a restart); 0 for none.
  virtual Result<int> highest_count(Date day, const std::string& symbol, NoticeKind kind) = 0;

  /// The state as it was before the first commit that belongs to `before` (a replay starts from there), or the newest
  /// (live). An error when that day is so far back that the states of it are not kept any more.
  virtual Result<std::vector<WatchState>> watch_states(std::optional<Date> before) = 0;
  virtual Result<std::vector<SymbolState>> symbol_states(std::optional<Date> before) = 0;
  /// The last `most` days of the symbol that are earlier than `before`, oldest first.
  virtual Result<std::vector<DayRecord>> days(const std::string& symbol, Date before, int most) = 0;
  /// Of each symbol that ever had one the newest days, kNewestDays at most. Read at one go, however long the journal is.
  static constexpr int kNewestDays = 31;
  virtual Result<CarriedDays> newest_days() { return CarriedDays{}; }
  /// Of these days, both included, symbol by symbol.
  virtual Status each_day(std::optional<Date>, std::optional<Date>, const std::function<bool(const DayRecord&)>&) {
    return {};
  }
  /// Those that overlap the time, in order of their beginning.
  virtual Result<std::vector<Hole>> holes(Timestamp from, Timestamp to) = 0;

  /// Rows left out so far because their sum did not fit.
  [[nodiscard]] virtual std::uint64_t damaged() const = 0;
  /// These, and what the check at open_read_only found wrong with the file (rows may be missing that nobody counts), as
  /// one line that names the file; empty: all that was written was there.
  [[nodiscard]] virtual std::string losses() const = 0;
  /// After a failed write: closes without touching the file again.
  virtual void abandon() = 0;

  Result<std::vector<NoticeRecord>> notices(const NoticeQuery& query);
  Status update(const DeliveryRow& row);
  Status commit(const JournalBatch& batch) { return commit(batch, {}, nullptr); }
};

}  // namespace brimwatch
