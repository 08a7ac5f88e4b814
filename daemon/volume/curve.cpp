// The default curve, and how a curve is read between its knots.
#include <algorithm>
#include <array>
#include <cstddef>

#include "volume/projection.h"

namespace brimwatch {
namespace {

// Share per 15-minute bin of continuous trading, percent: five US stocks, 2019; the closing auction is missing from the
// source.
constexpr std::array<double, 26> kBins = {8.42, 5.52, 4.95, 4.30, 4.01, 3.71, 3.68, 3.40, 3.16, 3.03, 2.87, 2.67, 2.59,
                                          2.41, 2.40, 2.33, 2.46, 2.41, 2.80, 2.65, 2.77, 2.93, 3.12, 3.54, 5.15, 12.71};
constexpr double kClosingAuction = 0.11;

struct Inside {
  double minute, part;
};
constexpr std::array<Inside, 7> kFirstBin = {{{0, 0}, {1, .11}, {2, .19}, {3, .27}, {5, .40}, {10, .71}, {15, 1}}};
constexpr std::array<Inside, 6> kLastBin = {{{0, 0}, {5, .16}, {10, .43}, {13, .68}, {14, .79}, {15, 1}}};

template <std::size_t N>
double inside(const std::array<Inside, N>& shape, double minute) {
  std::size_t i = 1;
  while (i + 1 < N && minute > shape[i].minute) ++i;
  const double part = (minute - shape[i - 1].minute) / (shape[i].minute - shape[i - 1].minute);
  return shape[i - 1].part + part * (shape[i].part - shape[i - 1].part);
}

/// Share of continuous trading done after `minute` minutes.
double continuous(double minute) {
  double done = 0, all = 0;
  for (std::size_t bin = 0; bin < kBins.size(); ++bin) {
    const double within = std::clamp(minute - 15.0 * static_cast<double>(bin), 0.0, 15.0);
    const double part = bin == 0                  ? inside(kFirstBin, within)
                        : bin + 1 == kBins.size() ? inside(kLastBin, within)
                                                  : within / 15;
    done += kBins[bin] * part;
    all += kBins[bin];
  }
  return done / all;
}

Curve make_default(double auction) {
  Curve curve;
  curve.count = kKnots;
  curve.minute = kKnotMinutes;
  curve.auction = auction;
  for (std::size_t i = 0; i + 1 < kKnots; ++i) curve.share[i] = (1 - auction) * continuous(kKnotMinutes[i]);
  curve.share[kKnots - 1] = 1;
  return curve;
}

}  // namespace

const Curve& default_curve() {
  static const Curve curve = make_default(kClosingAuction);
  return curve;
}

const Curve& default_curve_without_auction() {
  static const Curve curve = make_default(0);
  return curve;
}

double Curve::at(double minutes_of_390) const {
  if (!(minutes_of_390 > 0) || count <= 0) return 0;
  const auto size = static_cast<std::size_t>(std::min(count, kKnots));
  if (minutes_of_390 >= minute[size - 1]) return share[size - 1];
  const double* const first = minute.data();
  const auto i = static_cast<std::size_t>(std::lower_bound(first, first + size, minutes_of_390) - first);
  const double from = i == 0 ? 0 : minute[i - 1];
  const double before = i == 0 ? 0 : share[i - 1];
  const double to = i + 1 == size ? std::max(share[i] - auction, before) : share[i];
  return before + (minutes_of_390 - from) / (minute[i] - from) * (to - before);
}

}  // namespace brimwatch
