#pragma once
// Replays recorded days under given settings into a temporary journal: `review` compares rules on the same days with
// it.
#include <functional>
#include <string>
#include <vector>

#include "config/settings.h"
#include "core/result.h"
#include "evening/gather.h"
#include "files/own_files.h"
#include "replay/replay.h"

namespace brimwatch {

/// Files, and of directories every file of bars or ticks in it (.csv, .tsv, .txt, packed or not), by name.
[[nodiscard]] Result<std::vector<std::string>> tapes_in(const std::vector<std::string>& places);

struct Replayed {
  std::string journal;  ///< of the notices, in the folder given
  ReplaySummary summary;
  std::vector<ReviewWatch> watches;
  std::string curves;                 ///< which learned curves it judged by (desk/curves_used.h)
  std::vector<std::string> problems;  ///< of histories and events, as the desk tells them
};

/// `number` tells the journals of one folder apart.
[[nodiscard]] Result<Replayed> replay_rules(Settings settings, ReplayOptions options, const TemporaryFolder& folder,
                                            int number);

/// What a review wants to know of the watches.
[[nodiscard]] std::vector<ReviewWatch> review_watches(const Settings& settings);

/// The days on which the watches' exchange traded; none where they are of several, or its calendar cannot be had: then no
/// day of theirs can be missing.
[[nodiscard]] std::vector<Date> review_sessions(const Settings& settings);

}  // namespace brimwatch
