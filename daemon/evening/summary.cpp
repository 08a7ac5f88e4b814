#include "evening/summary.h"

#include <algorithm>
#include <numeric>

#include "evening/crossing_odds.h"
#include "evening/median.h"

namespace brimwatch {
namespace {

template <typename Wanted>
WeightGroup group_of(const std::vector<Crossing>& crossings, Weight weight, Wanted wanted) {
  WeightGroup group;
  group.weight = weight;
  std::vector<Decided> came, held;
  for (const Crossing& one : crossings) {
    if (!wanted(one)) continue;
    ++group.count;
    if (one.came) came.push_back({one.said.notice.day, *one.came});
    if (one.close) held.push_back({one.said.notice.day, one.closed != Side::under});
  }
  group.came = share_of(came, kVolumeAlike);
  group.held = share_of(held, kCloseAlike);
  return group;
}

void sum_up_weights(Review& out) {
  for (const Weight weight : {Weight::heavy, Weight::unsettled, Weight::light, Weight::unknown}) {
    const auto has_it = [weight](const Crossing& one) { return one.said.notice.volume.weight == weight; };
    out.weights.push_back(group_of(out.crossings, weight, has_it));
  }
  out.all = group_of(out.crossings, Weight::unknown, [](const Crossing&) { return true; });
}

void sum_up_odds(Review& out) {
  std::vector<JudgedOdds> judged;
  for (const Crossing& one : out.crossings) {
    const VolumeView& volume = one.said.notice.volume;
    if (!one.came || volume.weight == Weight::unknown) continue;
    judged.push_back({one.said.notice.day, volume.odds, *one.came});
    if (volume.high <= 0) continue;
    ++out.with_interval;
    out.in_interval += one.in_interval;
  }
  out.reliability = judge_reliability(judged);
  out.at_crossings = odds_at_crossings(out.crossings);
}

double mean(const std::vector<double>& values) {
  return values.empty() ? 0 : std::accumulate(values.begin(), values.end(), 0.0) / static_cast<double>(values.size());
}

void sum_up_after(Review& out) {
  std::vector<Decided> up, down;
  std::vector<double> best, worst;
  for (const Crossing& one : out.crossings) {
    if (one.first) up.push_back({one.said.notice.day, *one.first == CameFirst::up20});
    if (one.first) down.push_back({one.said.notice.day, *one.first == CameFirst::down8});
    if (!one.after.back()) continue;
    best.push_back(one.after.back()->rise);
    worst.push_back(one.after.back()->fall);
  }
  out.after.up20 = share_of(up, kVolumeAlike);
  out.after.down8 = share_of(down, kFallAlike);
  out.after.swings = static_cast<int>(best.size());
  if (best.empty()) return;
  std::sort(best.begin(), best.end());
  std::sort(worst.begin(), worst.end());
  out.after.best = median(best), out.after.worst = median(worst);
}

void sum_up_followed(Review& out) {
  std::vector<double> all, ended, open;
  std::vector<Decided> won;
  FollowSummary& sum = out.followed;
  for (const Crossing& one : out.crossings) {
    const Followed& f = one.followed;
    if (!f.taken) continue;
    sum.at_limit += f.at_limit;
    sum.unpriced += f.unpriced;
    all.push_back(f.result);
    (f.open ? open : ended).push_back(f.result);
    won.push_back({one.said.notice.day, f.result > 0});
  }
  sum.taken = static_cast<int>(all.size());
  sum.ended = static_cast<int>(ended.size());
  sum.open = static_cast<int>(open.size());
  sum.won = share_of(won, kFallAlike);
  if (all.empty()) return;
  std::sort(all.begin(), all.end());
  sum.mean = mean(all), sum.median = median(all), sum.worst = all.front(), sum.best = all.back();
  sum.ended_mean = mean(ended), sum.open_mean = mean(open);
}

}  // namespace

void sum_up(Review& review) {
  sum_up_weights(review);
  sum_up_odds(review);
  sum_up_after(review);
  sum_up_followed(review);
}

}  // namespace brimwatch
