#pragma once
// A base as a picture: SVG text, so that a browser, a page and a mail can all show it. Pure: the same base gives the same
// bytes.
#include <string>

#include "pictures/palette.h"
#include "weekend/candidate.h"

namespace brimwatch {

constexpr int kBaseWidth = 960, kBaseHeight = 820;

/// Its days with the buy range of `range` percent, the relative strength line, two years of weeks (panels.h), and what is
/// said of it. Behind the picture's address, `#beside` shows the base alone in large letters, for where there is little
/// room. Needs candidate.bars and candidate.weeks (PrepareInput::keep_bars); empty without bars.
[[nodiscard]] std::string base_picture(const Candidate& candidate, double range);

/// The same strokes, the part of `#beside` under the paper.
void draw_base(Canvas& canvas, const Candidate& candidate, double range, PictureStyle style);

}  // namespace brimwatch
