#pragma once
// A base as a picture: SVG text, so that a browser, a page and a mail can all show it. Pure: the same base gives the same
// bytes. Colours are of a palette that colour-blind readers can tell apart (Okabe and Ito, 2008).
#include <string>

#include "weekend/prepare.h"

namespace brimwatch {

/// The price as a band from low to high with the close as a line, log scale; the base's points marked; pivot and buy
/// range
/// (`range` percent); volume against normal below; relative strength line at the bottom where there is one.
/// Needs candidate.bars (PrepareInput::keep_bars).
[[nodiscard]] std::string base_picture(const Candidate& candidate, double range);

}  // namespace brimwatch
