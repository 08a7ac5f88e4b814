#pragma once
// Data to pixels, and where round numbers lie. Pure.
#include <vector>

namespace brimwatch {

struct Scale {
  double from = 0, to = 1;  ///< data
  double pixel_from = 0, pixel_to = 1;

  [[nodiscard]] double operator()(double value) const {
    return pixel_from + (value - from) / (to - from) * (pixel_to - pixel_from);
  }
};

/// At most `most` of them: multiples of 1, 2 or 5 times a power of ten inside from..to.
[[nodiscard]] std::vector<double> round_steps(double from, double to, int most);

struct Label {
  double wanted = 0;  ///< pixel
  double at = 0;      ///< where it goes
};

/// Moves labels apart so that none are nearer than `gap`, within from..to as far as there is room; order by `wanted`
/// kept.
void spread(std::vector<Label*> labels, double gap, double from, double to);

}  // namespace brimwatch
