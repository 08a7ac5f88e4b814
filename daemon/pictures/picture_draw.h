#pragma once
// How the day's picture is laid out and drawn, on any canvas.
#include "pictures/canvas.h"
#include "pictures/picture.h"

namespace brimwatch {

void draw(Canvas& canvas, const DayPicture& day, PictureStyle style);

}  // namespace brimwatch
