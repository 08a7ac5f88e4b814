#include "volume/grading/crossing_scores.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <initializer_list>

#include "volume/grading/score.h"

namespace brimwatch {
namespace {

bool came(const GradedCrossing& one) { return one.graded.total >= one.graded.wanted; }

using Pairs = std::vector<std::pair<double, bool>>;
using Property = std::function<double(const GradedCrossing&)>;

Pairs pairs_of(const std::vector<GradedCrossing>& crossings, const Property& said) {
  Pairs pairs;
  for (const GradedCrossing& one : crossings) pairs.emplace_back(said(one), came(one));
  return pairs;
}

double log_loss_of(double odds, bool has_come) {
  constexpr double kSure = 1e-6;
  return -std::log(std::clamp(has_come ? odds : 1 - odds, kSure, 1.0));
}

OddsScore score_of(const Pairs& pairs) {
  OddsScore out;
  out.count = static_cast<int>(pairs.size());
  if (pairs.empty()) return out;
  const auto n = static_cast<double>(pairs.size());
  double brier = 0;
  for (const auto& [odds, has_come] : pairs) {
    out.said += odds / n;
    out.came += has_come / n;
    brier += (odds - has_come) * (odds - has_come) / n;
    out.log_loss += log_loss_of(odds, has_come) / n;
  }
  const double chance = out.came * (1 - out.came);
  out.brier_skill = chance > 0 ? 1 - brier / chance : 0;
  out.auc = area_under_curve(pairs);
  const CallScore at50 = score_calls(pairs, .5), at70 = score_calls(pairs, .7);
  out.precision_50 = at50.precision, out.recall_50 = at50.recall;
  out.precision_70 = at70.precision, out.recall_70 = at70.recall;
  return out;
}

/// `edges` ascending; the last band goes on for ever.
std::vector<CrossingBand> bands_of(const std::vector<GradedCrossing>& crossings, std::initializer_list<double> edges,
                                   const Property& property) {
  std::vector<CrossingBand> bands;
  for (auto edge = edges.begin(); edge != edges.end(); ++edge) {
    CrossingBand band;
    band.from = *edge;
    if (edge + 1 != edges.end()) band.to = *(edge + 1);
    std::vector<GradedCrossing> inside;
    std::copy_if(crossings.begin(), crossings.end(), std::back_inserter(inside),
                 [&](const GradedCrossing& one) { return property(one) > band.from && property(one) <= band.to; });
    band.score = score_of(pairs_of(inside, [](const GradedCrossing& one) { return one.odds; }));
    if (band.score.count > 0) bands.push_back(band);
  }
  return bands;
}

SimpleRule rule_of(const std::vector<GradedCrossing>& crossings, double GradedForecast::*total) {
  const Pairs pairs =
      pairs_of(crossings, [&](const GradedCrossing& one) { return one.graded.*total / one.graded.wanted; });
  const CallScore called = score_calls(pairs, 1);
  return {area_under_curve(pairs), called.precision, called.recall};
}

}  // namespace

CrossingScores score_crossings(const std::vector<GradedCrossing>& crossings) {
  CrossingScores out;
  out.all = score_of(pairs_of(crossings, [](const GradedCrossing& one) { return one.odds; }));
  out.by_minute = bands_of(crossings, {0, 1, 5, 15, 30, 60, 120, 195, 390},
                           [](const GradedCrossing& one) { return one.graded.minute; });
  out.by_gap = bands_of(crossings, {-2, -0.5, 1, 2}, [](const GradedCrossing& one) { return one.gap; });
  out.by_age = bands_of(crossings, {0, 1, 5}, [](const GradedCrossing& one) { return one.age.sessions; });
  out.by_normal = bands_of(crossings, {0, 100e3, 400e3, 2e6}, [](const GradedCrossing& one) { return one.normal; });
  out.linear = rule_of(crossings, &GradedForecast::linear);
  out.profile = rule_of(crossings, &GradedForecast::profile);
  std::vector<JudgedOdds> judged;
  for (const GradedCrossing& one : crossings) judged.push_back({one.day, one.odds, came(one)});
  out.reliability = judge_reliability(judged);
  return out;
}

}  // namespace brimwatch
