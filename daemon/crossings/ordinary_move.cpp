#include "crossings/ordinary_move.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

namespace brimwatch {
namespace {

double middle_of(std::span<double> values) {
  const auto half = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), half, values.end());
  return values.size() % 2 == 1 ? *half : (*half + *std::max_element(values.begin(), half)) / 2;
}

}  // namespace

std::optional<OrdinaryMove> ordinary_move(std::span<const DailyBar> bars, int last) {
  const int count = std::min(last, kMoveSessions);
  if (count < kMoveLeast) return std::nullopt;
  std::array<double, kMoveSessions> room;
  const std::span<double> moves(room.data(), static_cast<std::size_t>(count));
  double before = std::log(bars[static_cast<std::size_t>(last - count)].close.as_double());
  for (int i = 0; i < count; ++i) {
    const double now = std::log(bars[static_cast<std::size_t>(last - count + 1 + i)].close.as_double());
    moves[static_cast<std::size_t>(i)] = std::abs(now - before);
    before = now;
  }
  const double cap = kMoveCap * middle_of(moves);
  const double sum = std::accumulate(moves.begin(), moves.end(), 0.0,
                                     [cap](double total, double move) { return total + std::min(move, cap); });
  if (!(sum > 0)) return std::nullopt;
  return OrdinaryMove{100 * sum / count, count};
}

double moves_between(Price close, Price pivot, double ordinary_move) {
  return 100 * std::log(pivot.as_double() / close.as_double()) / ordinary_move;
}

}  // namespace brimwatch
