#pragma once
// The panels of a base's picture: its days with the points of the base, the relative strength line, its weeks. In one
// ink: nothing in it is told by colour, though the pivot is blue as everywhere. Pure.
#include <vector>

#include "pictures/palette.h"
#include "weekend/candidate.h"

namespace brimwatch {

struct Panel {
  double top = 0, bottom = 0;
};

/// Where the days stand on the paper, and how large their words are.
struct DaysFrame {
  double left = 0, right = 0;  ///< of the bars
  double paper = 0;            ///< right edge of the paper: words of levels stand between
  Panel prices, volume;
  double letters = 12;
  int grid = 8;  ///< price lines, at most
};

/// What is drawn of a base.
struct BaseDays {
  const Candidate* one = nullptr;
  std::vector<DailyBar> bars;  ///< at least two; the base's points lie within
  int before = 0;              ///< how many of the candidate's bars lie before them
  double range = 5;            ///< the buy range, %
};

/// Days from low to high with a tick at the close, log scale; points ringed and named; pivot and range in the margin;
/// volume below, filled where the close rose, hollow where it did not, against normal.
void draw_days(Canvas& canvas, const Palette& colours, const DaysFrame& frame, const BaseDays& days);

/// The relative strength line under the days, where there is one.
void draw_strength(Canvas& canvas, const Palette& colours, const DaysFrame& frame, const Candidate& one, Panel panel);

/// Weekly bars with the mean of ten closes; nothing where there are fewer than two.
void draw_weeks(Canvas& canvas, const Palette& colours, const DaysFrame& frame, const Candidate& one, Panel panel);

}  // namespace brimwatch
