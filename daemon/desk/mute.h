#pragma once
// What would keep a watch from a notice today: the one list of causes, for `check`, the morning's line, `now` and
// the page. Pure.
#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "config/settings.h"
#include "engine/engine.h"
#include "session/calendar.h"

namespace brimwatch {

class Desk;

struct MuteCause {
  enum class About : std::uint8_t { days, market, channels, stand, levels, volume };
  About about = About::days;
  std::string what;         ///< "not in force", fit to stand behind a name or a list of names
  std::string more;         ///< of this watch alone: "from 2026-12-01 on"; may be empty
  bool no_crossing = true;  ///< its crossing is not told; false: something less

  bool operator==(const MuteCause&) const = default;
};

/// What the causes follow from.
struct MuteFacts {
  const Watch& watch;
  const Settings& settings;
  std::optional<Date> day;           ///< the day it is about, at its exchange; none where days mean nothing
  const Session* session = nullptr;  ///< of that day; nullptr: none
  Trend trend = Trend::unknown;
  bool knows_normal = true;  ///< a normal volume is known, and not too old
  bool index_too_old = false, index_doubtful = false;
  const WatchView* stands = nullptr;  ///< where it stands; nullptr: nothing runs
  Timestamp now{};                    ///< for what was not heard; not set: nothing runs
};

/// The gravest first.
[[nodiscard]] std::vector<MuteCause> mute_causes(const MuteFacts& facts);

/// Those of a watch of the desk.
[[nodiscard]] std::vector<MuteCause> mute_causes(const Desk& desk, std::uint32_t watch, const WatchView& stands,
                                                 Timestamp now);

/// "not in force: from 2026-12-01 on"
[[nodiscard]] std::string to_string(const MuteCause& cause);

/// Causes of many watches, cause by cause, in the order in which they came.
class MuteList {
 public:
  void add(const std::string& symbol, const MuteCause& cause);
  struct Line {
    MuteCause cause;                          ///< `more` is empty where it is not the same for all
    std::vector<std::string> symbols;         ///< each once
    [[nodiscard]] std::string names() const;  ///< "KLVN, ORRJ, NIVO and 3 more"
  };
  [[nodiscard]] const std::vector<Line>& lines() const { return lines_; }

 private:
  std::vector<Line> lines_;
};

/// "KLVN, ORRJ, NIVO and 3 more"
[[nodiscard]] std::string some_of(const std::vector<std::string>& names);

}  // namespace brimwatch
