#pragma once
// A base as a picture: SVG text, so that a browser, a page and a mail can all show it. Pure: the same base gives the same
// bytes. One ink: nothing in it is told by colour.
#include <string>

#include "weekend/candidate.h"

namespace brimwatch {

/// Days from low to high with a tick at the close, log scale; the base's points ringed and named; the pivot as a line and
/// the buy range (`range` percent) as a bracket in the margin; volume below, filled where the close rose, hollow where it
/// did not, against normal; the relative strength line where there is one; two years of weeks with their ten-week mean.
/// Needs candidate.bars and candidate.weeks (PrepareInput::keep_bars).
/// `#beside` behind the picture's address shows the part that matters where there is little room.
[[nodiscard]] std::string base_picture(const Candidate& candidate, double range);

}  // namespace brimwatch
