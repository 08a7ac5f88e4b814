#pragma once
// What a replay adds for a person where a tape is not what it was taken for: rows that are no bars, symbols that nobody
// watches.
#include <string>
#include <vector>

#include "config/settings.h"

namespace brimwatch {

/// "none of the tape's 12 symbols is watched (KLVN, ORRI, ...)"
[[nodiscard]] std::string unwatched_text(const std::vector<std::string>& names);

/// Of tapes that were taken for minute bars: the first row of each that is none, and whether a header is missing. Looks
/// at the beginning of the files.
[[nodiscard]] std::vector<std::string> hints_at_rows(const std::vector<std::string>& tapes,
                                                     const SessionSettings& session, bool utc);

}  // namespace brimwatch
