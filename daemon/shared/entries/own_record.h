#pragma once
// This machine's record in the shared log, on its lease: which of it is due to be written. Times are this machine's own
// clock that goes on while it sleeps. Pure.
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "adapters/shared_log.h"
#include "shared/entries/keys.h"
#include "shared/entries/values.h"

namespace brimwatch {

class OwnRecord {
 public:
  /// `keys` outlives it; `reads` is the newest form that this machine reads.
  OwnRecord(const SharedKeys& keys, std::string name, int reads);

  struct Moment {
    Nanos now = 0;
    Timestamp wall;
    std::int64_t lease = 0;
  };
  /// What is to be written so that the log has `member`: every ten seconds, and at once when it changes. Its list and its
  /// rules go with it, and are asked for, where their hashes are others; `rules` may be empty where it has none.
  [[nodiscard]] std::vector<LogWrite> due(SharedMember member, const std::function<std::string()>& list,
                                          const std::function<std::string()>& rules, const Moment& moment);
  [[nodiscard]] bool may_be_written(Nanos now) const { return now >= not_before_; }
  void on_new_lease(Nanos asked);
  /// All of it is due again. A log without room, or a lease that has ended, refuses it: it is left out for a while, so
  /// that the log can be read.
  void on_no_answer(Nanos asked, bool refused);

  /// As last written, but for its clock.
  [[nodiscard]] const SharedMember& written() const { return written_; }

  static constexpr Nanos kEvery = 10 * kSecond;

 private:
  const SharedKeys& keys_;
  std::string name_;
  int reads_;
  Nanos written_at_ = -kDayNanos, not_before_ = -kDayNanos;
  SharedMember written_;
  std::optional<std::string> list_, rules_;  ///< the hashes of those that the log has
};

}  // namespace brimwatch
