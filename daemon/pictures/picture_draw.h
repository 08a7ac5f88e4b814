#pragma once
// The strokes of a day's picture.
#include <vector>

#include "pictures/canvas.h"
#include "pictures/labels.h"
#include "pictures/picture.h"

namespace brimwatch {

void draw(Canvas& canvas, const DayPicture& day, PictureStyle style);

/// Where the words of the day's marks go: of the last three, in their order.
[[nodiscard]] std::vector<MarkLabel> mark_labels(Canvas& canvas, const DayPicture& day);

}  // namespace brimwatch
