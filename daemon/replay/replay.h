#pragma once
// The same engine on a recorded feed. The clock is the tape's; two replays of one tape give the same notices, byte for
// byte.
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "core/answer.h"
#include "desk/day_book.h"
#include "desk/desk.h"
#include "engine/engine.h"
#include "replay/bar_replay.h"
#include "tape/reader.h"

namespace brimwatch {

struct ReplayOptions {
  std::vector<std::string> tapes = {};          ///< in order; state goes over from one to the next. Files of minute bars
                                                ///< among them are played together, in the place of the first
  BarReplayOptions bars = {};                   ///< how to read those
  std::optional<Timestamp> from = {}, to = {};  ///< exchange time: from <= time < to
  std::optional<int> from_minute = {}, to_minute = {};  ///< of the exchange's day, every day
  double speed = 0;                                     ///< times real time; 0: as fast as it goes
  std::vector<Answer> answers = {};  ///< what people said back, in its order: heard when its time comes
  std::string journal = {};          ///< file, empty: none
  double most_bad_share = 0.01;
  bool read_ahead = true;   ///< tapes are read on a thread of their own, where they are regular files
  DayBook* book = nullptr;  ///< filled as the day goes, for pictures; null: nobody draws any
};

struct ReplaySummary {
  std::uint64_t ticks = 0, rows = 0, malformed = 0, notices = 0;
  double seconds = 0;
  std::optional<Date> first_day, last_day;  ///< seen on the tapes
  int days = 0;
  EngineCounters counters;
  std::vector<std::string>
      remarks;  ///< what a person should know: malformed rows, a torn end, a tape that ends before the close
  std::vector<std::string> unwatched;  ///< symbols of the tapes, where no trade of one that is watched was seen
};

/// What comes out, in order.
class ReplayListener {
 public:
  virtual ~ReplayListener() = default;
  virtual void on_notice(const NoticeRecord& record) = 0;
  /// Now and then, with the time on the tape: for a progress line. `share` is what has been read of all tapes, 0 to 1;
  /// negative where that is not known.
  virtual void on_progress(std::uint64_t ticks, Timestamp at, double share) = 0;
};

/// An error names the tape and what is wrong with it, or the journal.
Result<ReplaySummary> replay(Desk& desk, const ReplayOptions& options, ReplayListener& listener);

}  // namespace brimwatch
