#include "crossings/odds.h"

#include <array>
#include <cmath>

namespace brimwatch {
namespace {

struct Step {
  double moves, share;
};

// Of 45,943 watches of the panel that the shipped curves are from, by distance: 0-.5, .5-1, 1-1.5, 1.5-2, 2-3, 3-4, 4-6,
// 6-8 and over 8 ordinary moves, each standing at the middle of its range.
constexpr std::array<Step, 9> kCrossed = {
    {{0.25, 0.82}, {0.75, 0.68}, {1.25, 0.55}, {1.75, 0.43}, {2.5, 0.31}, {3.5, 0.18}, {5, 0.08}, {7, 0.03}, {9, 0.01}}};

std::string counted(int count) {
  std::string digits = std::to_string(count);
  for (int at = static_cast<int>(digits.size()) - 3; at > 0; at -= 3) digits.insert(static_cast<std::size_t>(at), 1, ',');
  return digits;
}

}  // namespace

double OddsCurve::at(double ordinary_move) const { return 1 / (1 + std::exp(-(level + move / ordinary_move))); }

double cross_in_5(double moves_to_pivot) {
  if (moves_to_pivot <= kCrossed.front().moves) return kCrossed.front().share;
  for (std::size_t i = 1; i < kCrossed.size(); ++i) {
    const Step &left = kCrossed[i - 1], &right = kCrossed[i];
    if (moves_to_pivot > right.moves) continue;
    return left.share + (right.share - left.share) * (moves_to_pivot - left.moves) / (right.moves - left.moves);
  }
  return kCrossed.back().share;
}

std::string origin_of(const OddsBook& book) {
  if (book.shipped()) return "shipped: 35,023 crossings of 501 large US stocks, 2001-2020";
  if (book.own_crossings <= 0) return "set by hand in [prepare]";
  return "your own: " + counted(book.own_crossings) + " crossings of your bars, drawn towards the shipped odds";
}

}  // namespace brimwatch
