#pragma once
// Where the words of marks go: beside their mark, never over one another, and over a line only where there is no other
// place. Pure.
#include <vector>

#include "pictures/canvas.h"

namespace brimwatch {

struct MarkLabel {
  Spot mark;
  double width = 0, height = 0;  ///< of its words
  Box box{};                     ///< where they go
};

/// Gives each label, in the given order, the nearest free place of many round its mark, inside `frame`. `lines` (boxes
/// that hold a line or a dot) are kept free where that is possible; other labels always, as long as the frame has room.
void place_labels(std::vector<MarkLabel>& labels, const Box& frame, const std::vector<Box>& lines);

}  // namespace brimwatch
