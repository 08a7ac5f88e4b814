#pragma once
// Notices of this machine's engine while another machine speaks. Each waits until the log has it; what the one that
// speaks is seen not to have heard is not lost, whether it goes on speaking or falls silent. Times are this machine's own
// clock that goes on while it sleeps. Pure.
#include <cstdint>
#include <deque>
#include <string>
#include <vector>

#include "core/notice.h"
#include "shared/entries/view.h"

namespace brimwatch {

class HeldNotices {
 public:
  /// `member` is this machine; `ttl` how long the others may believe that the one that speaks lives. Both outlive it.
  HeldNotices(const SharedView& view, std::string member, Nanos ttl);

  /// But for those that the log has already.
  void hold(std::vector<NoticeRecord> notices, Nanos now);
  /// The log has it now.
  void forget(const std::string& notice_id);

  /// Of those that have waited so long that the one that speaks must have heard them too, what it has not: a print that
  /// its feed lacks, or one of a time in which it was not there, or was blind. They say so in their text.
  [[nodiscard]] std::vector<NoticeRecord> take_unheard(Nanos now);

  /// What this machine knows of the one before when it is to speak itself.
  struct Before {
    Nanos silent_since = 0;    ///< what happened since is not known to have been told
    bool spoke_alone = false;  ///< heard to speak without the log: it has told what the log does not know
  };
  /// What is ours to tell now; the others are dropped.
  [[nodiscard]] std::vector<NoticeRecord> take_untold(const Before& before, Nanos now);

  struct Counters {
    std::uint64_t held = 0;
    std::uint64_t told_by_others = 0;  ///< of those
    std::uint64_t dropped = 0;         ///< of those: too many, too old, or told before
  };
  [[nodiscard]] const Counters& counters() const { return counters_; }

  static constexpr std::size_t kMost = 10'000;       ///< the oldest go
  static constexpr Nanos kTellAfter = 10 * kSecond;  ///< what this machine heard, and the one that speaks did not
  static constexpr Nanos kHeldFor = 10 * kMinute;    ///< it is too late to tell then

 private:
  struct Held {
    NoticeRecord record;
    Nanos at = 0;
  };
  [[nodiscard]] bool is_unheard_of(const NoticeRecord& record) const;

  const SharedView& view_;
  std::string member_;
  Nanos ttl_;
  std::deque<Held> held_;
  Counters counters_;
};

}  // namespace brimwatch
