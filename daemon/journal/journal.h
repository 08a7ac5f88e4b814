#pragma once
// The journal: one SQLite database (WAL, synchronous FULL) with notices, deliveries, day records, feed holes and the
// engine's state. State and the notices it caused are one transaction; a notice's id is unique, so a second pass over the
// same ticks writes nothing twice. One writer thread; readers open their own connection.
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

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

  [[nodiscard]] bool empty() const {
    return notices.empty() && watches.empty() && symbols.empty() && days.empty() && holes.empty();
  }
};

enum class DeliveryState : std::uint8_t { pending, sending, delivered, unknown, dead, expired };
[[nodiscard]] std::string_view to_string(DeliveryState state);

struct DeliveryRow {
  std::string notice_id, channel;
  DeliveryState state = DeliveryState::pending;
  int attempts = 0;
  Timestamp next, done;      ///< when to try again; when it reached its final state
  std::string reply;         ///< the other side's last words
};

struct NoticeQuery {
  std::optional<Date> day, from, to;
  std::string symbol;        ///< empty: all
  std::vector<NoticeKind> kinds;
  int limit = 0;             ///< 0: all
};

class Journal {
 public:
  /// Creates the file (mode 0600) and its directory where missing. A journal from a newer version, a corrupted one or a
  /// full disk is an error that says what to do; nothing is destroyed.
  static Result<std::unique_ptr<Journal>> open(const std::string& path);
  static Result<std::unique_ptr<Journal>> open_read_only(const std::string& path);
  virtual ~Journal() = default;

  /// One transaction. `written` gets the notices that were new (with one pending delivery per channel in `channels`).
  virtual Status commit(const JournalBatch& batch, const std::vector<std::string>& channels, std::vector<NoticeRecord>* written) = 0;

  virtual Result<std::vector<NoticeRecord>> notices(const NoticeQuery& query) = 0;
  virtual Result<std::vector<DeliveryRow>> deliveries(const std::string& notice_id) = 0;
  /// Not yet final, oldest first: what the dispatcher takes up after a restart.
  virtual Result<std::vector<DeliveryRow>> open_deliveries() = 0;
  virtual Status update(const DeliveryRow& row) = 0;
  virtual Status acknowledge(const std::string& notice_id, Timestamp at) = 0;
  virtual Result<bool> acknowledged(const std::string& notice_id) = 0;

  /// The state as it was before the first commit that belongs to `day` (a replay starts from there), or the newest (live).
  virtual Result<std::vector<WatchState>> watch_states(std::optional<Date> before) = 0;
  virtual Result<std::vector<SymbolState>> symbol_states(std::optional<Date> before) = 0;
  virtual Result<std::vector<DayRecord>> days(const std::string& symbol, int most) = 0;
  virtual Result<std::vector<Hole>> holes(Date from, Date to) = 0;
};

}  // namespace brimwatch
