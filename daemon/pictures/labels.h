#pragma once
// Where the words of marks go: beside their mark, never over one another, and over a line only where there is no other
// place. Pure.
#include <vector>

#include "pictures/canvas.h"

namespace brimwatch {

struct Box {
  double left = 0, top = 0, right = 0, bottom = 0;

  [[nodiscard]] bool meets(const Box& other) const {
    return left < other.right && other.left < right && top < other.bottom && other.top < bottom;
  }
  [[nodiscard]] bool holds(const Box& other) const {
    return left <= other.left && other.right <= right && top <= other.top && other.bottom <= bottom;
  }
};

struct MarkLabel {
  Spot mark;
  double width = 0, height = 0;  ///< of its words
  Box box{};                     ///< where they go
};

/// Gives each label, in the given order, the nearest free place of many round its mark, inside `frame`. `lines` (boxes
/// that hold a line or a dot) are kept free where that is possible; other labels always, as long as the frame has room.
void place_labels(std::vector<MarkLabel>& labels, const Box& frame, const std::vector<Box>& lines);

}  // namespace brimwatch
