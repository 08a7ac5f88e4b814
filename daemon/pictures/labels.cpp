#include "pictures/labels.h"

#include <algorithm>
#include <cmath>

namespace brimwatch {
namespace {

constexpr double kBeside = 9;  ///< from the mark's centre to the words
constexpr int kRows = 16, kColumns = 12;

/// The `column`-th place to the right (odd) or left (even) of the mark, `row` rows above (odd) or under (even) it.
Box place(const MarkLabel& label, int row, int column) {
  const double step = label.height * ((row + 1) / 2) * (row % 2 != 0 ? -1 : 1);
  const double aside = kBeside + label.width / 2 * (column / 2);
  const double left = column % 2 == 0 ? label.mark.x + aside : label.mark.x - aside - label.width;
  const double top = label.mark.y - label.height / 2 + step;
  return {left, top, left + label.width, top + label.height};
}

int meetings(const Box& box, const std::vector<Box>& others) {
  return static_cast<int>(std::count_if(others.begin(), others.end(), [&](const Box& one) { return box.meets(one); }));
}

double distance(const Box& box, const Spot& mark) {
  const double x = std::max({box.left - mark.x, 0.0, mark.x - box.right});
  const double y = std::max({box.top - mark.y, 0.0, mark.y - box.bottom});
  return std::hypot(x, y);
}

/// What a place costs, exact where it is less than `least`: words over words are worst, then lines under words, then the
/// way from the mark.
double cost(const Box& box, const MarkLabel& label, const Box& frame, const std::vector<Box>& taken,
            const std::vector<Box>& lines, double least) {
  const double so_far = (frame.holds(box) ? 0 : 1e9) + 1e6 * meetings(box, taken) + distance(box, label.mark);
  return so_far < least ? so_far + 300 * meetings(box, lines) : so_far;  // the lines are many
}

}  // namespace

void place_labels(std::vector<MarkLabel>& labels, const Box& frame, const std::vector<Box>& lines) {
  std::vector<Box> taken;
  for (MarkLabel& label : labels) {
    label.box = place(label, 0, 0);
    double least = cost(label.box, label, frame, taken, lines, 1e300);
    for (int row = 0; row < kRows; ++row) {
      for (int column = 0; column < kColumns; ++column) {
        const Box box = place(label, row, column);
        const double here = cost(box, label, frame, taken, lines, least);
        if (here < least) least = here, label.box = box;
      }
    }
    taken.push_back(label.box);
  }
}

}  // namespace brimwatch
