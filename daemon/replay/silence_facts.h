#pragma once
// The facts behind "why did it say nothing": read from the journal, and from the day's tape by the engine itself.
#include <memory>
#include <string>
#include <vector>

#include "core/result.h"
#include "desk/silence.h"
#include "session/calendar.h"

namespace brimwatch {

struct SilenceSources {
  std::string journal;             ///< file; one that is not there is no error
  std::vector<std::string> tapes;  ///< of the day, in order; empty: the recordings of [record], or the feeds' own tapes
  Trend trend = Trend::unknown;    ///< of the market on that day
  bool knows_normal = true;        ///< a normal volume of it is known
  Timestamp now;
};

/// `settings` outlives what is given. An error names the journal or the calendar that cannot be read; a tape that cannot
/// be is told among the facts.
[[nodiscard]] Result<SilenceFacts> gather_silence(const Watch& watch, const Settings& settings, Date day,
                                                  const SilenceSources& sources);

/// The tapes of that day: what was recorded of it, else the files of the feeds that play tapes.
[[nodiscard]] std::vector<std::string> tapes_of(const Settings& settings, Date day);

}  // namespace brimwatch
