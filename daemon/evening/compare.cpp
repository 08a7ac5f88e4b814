#include "evening/compare.h"

#include <functional>
#include <map>
#include <set>

#include "evening/paired.h"

namespace brimwatch {
namespace {

using Value = std::function<std::optional<double>(const Crossing&)>;

struct MeasureKind {
  std::string name;
  bool more_is_better;
  bool is_share;
  Value value;
};

bool heavy(const Crossing& one) { return one.said.notice.volume.weight == Weight::heavy; }

std::optional<double> held(const Crossing& one) {
  if (!one.close) return std::nullopt;
  return one.closed != Side::under ? 1 : 0;
}

std::optional<double> odds_error(const Crossing& one) {
  if (!one.came || one.said.notice.volume.weight == Weight::unknown) return std::nullopt;
  const double off = one.said.notice.volume.odds - (*one.came ? 1 : 0);
  return off * off;
}

void add_swings(std::vector<MeasureKind>& out) {
  for (std::size_t i = 0; i < kSpans.size(); ++i) {
    const std::string after = " within " + std::to_string(kSpans[i]) + (kSpans[i] == 1 ? " session, %" : " sessions, %");
    out.push_back({"highest rise" + after, true, false, [i](const Crossing& one) {
                     return one.after[i] ? std::optional<double>(one.after[i]->rise) : std::nullopt;
                   }});
    out.push_back({"deepest fall" + after, true, false, [i](const Crossing& one) {
                     return one.after[i] ? std::optional<double>(one.after[i]->fall) : std::nullopt;
                   }});
  }
}

std::vector<MeasureKind> kinds() {
  std::vector<MeasureKind> out = {
      {"heavy crossings whose volume came", true, true,
       [](const Crossing& one) {
         return heavy(one) && one.came ? std::optional<double>(*one.came ? 1 : 0) : std::nullopt;
       }},
      {"crossings that closed at or above the pivot", true, true, held},
      {"heavy ones that closed at or above the pivot", true, true,
       [](const Crossing& one) { return heavy(one) ? held(one) : std::nullopt; }},
      {"error of the odds (Brier, 0 is perfect)", false, false, odds_error},
  };
  add_swings(out);
  out.push_back({"result of following, % each", true, false, [](const Crossing& one) {
                   return one.followed.taken && !one.followed.held ? std::optional<double>(one.followed.result)
                                                                   : std::nullopt;
                 }});
  return out;
}

std::vector<DayPair> by_day(const Review& a, const Review& b, const Value& value) {
  std::map<Date, DayPair> days;
  const auto add = [&](const Review& review, Part DayPair::*side) {
    for (const Crossing& one : review.crossings) {
      Part& part = days[one.said.notice.day].*side;
      if (const auto v = value(one)) part.sum += *v, ++part.count;
    }
  };
  add(a, &DayPair::a);
  add(b, &DayPair::b);
  std::vector<DayPair> out;
  for (const auto& [day, pair] : days) out.push_back(pair);
  return out;
}

void fill_sides(Measure& out, const std::vector<DayPair>& days) {
  Part a, b;
  for (const DayPair& day : days) {
    a.sum += day.a.sum, a.count += day.a.count;
    b.sum += day.b.sum, b.count += day.b.count;
  }
  const double scale = out.is_share ? 100 : 1;
  out.count_a = a.count, out.count_b = b.count;
  if (a.count > 0) out.a = scale * a.sum / a.count;
  if (b.count > 0) out.b = scale * b.sum / b.count;
  if (!out.is_share) return;
  out.hits_a = static_cast<int>(a.sum), out.hits_b = static_cast<int>(b.sum);
  out.between_a = wilson_interval(out.hits_a, out.count_a);
  out.between_b = wilson_interval(out.hits_b, out.count_b);
}

Measure measure_of(const Review& a, const Review& b, const MeasureKind& kind, int draws) {
  const auto days = by_day(a, b, kind.value);
  Measure out;
  out.name = kind.name;
  out.more_is_better = kind.more_is_better;
  out.is_share = kind.is_share;
  fill_sides(out, days);
  const double scale = kind.is_share ? 100 : 1;
  if (const auto difference = difference_of(days)) out.difference = scale * *difference;
  if (const auto between = bootstrap(days, draws)) out.low = scale * between->low, out.high = scale * between->high;
  out.p = swap_test(days, draws);
  return out;
}

void judge_together(Comparison& out) {
  std::vector<double> p;
  for (const Measure& measure : out.measures) {
    if (measure.p) p.push_back(*measure.p);
  }
  const auto together = holm(p);
  std::size_t at = 0;
  for (Measure& measure : out.measures) {
    if (!measure.p) continue;
    measure.p_together = together[at++];
    measure.within_noise = out.days < kLeastDaysToCompare || measure.p_together >= kBeyondNoise;
  }
}

std::vector<Tally> tallies_of(const Review& a, const Review& b) {
  std::vector<Tally> out = {
      {"notices", a.notices, b.notices},
      {"crossings told", static_cast<int>(a.crossings.size()), static_cast<int>(b.crossings.size())}};
  for (const Weight weight : {Weight::heavy, Weight::unsettled, Weight::light}) {
    const auto count = [&](const Review& review) {
      int n = 0;
      for (const Crossing& one : review.crossings) n += one.said.notice.volume.weight == weight;
      return n;
    };
    out.push_back({"  of them " + std::string(to_string(weight)), count(a), count(b)});
  }
  out.push_back({"  of them followed", a.followed.taken, b.followed.taken});
  return out;
}

std::string verdict_on(const Comparison& comparison) {
  if (comparison.days < kLeastDaysToCompare) {
    return "Only " + std::to_string(comparison.days) + (comparison.days == 1 ? " day" : " days") +
           " with a crossing: too few to prefer either.";
  }
  std::string better;
  for (const Measure& measure : comparison.measures) {
    if (measure.within_noise) continue;
    const bool b_is_better = (measure.difference > 0) == measure.more_is_better;
    better += (better.empty() ? "" : "; ") + measure.name + ": " + (b_is_better ? "B" : "A") + " is better";
  }
  if (better.empty())
    return "WARNING: every difference is within noise. These days give no reason to prefer either set of rules.";
  return "Beyond noise: " + better + ". Every other difference is within noise.";
}

}  // namespace

Comparison compare(const Review& a, const Review& b, int draws) {
  Comparison out;
  std::set<Date> days;
  for (const Review* review : {&a, &b}) {
    for (const Crossing& one : review->crossings) days.insert(one.said.notice.day);
  }
  out.days = static_cast<int>(days.size());
  out.tallies = tallies_of(a, b);
  for (const MeasureKind& kind : kinds()) out.measures.push_back(measure_of(a, b, kind, draws));
  judge_together(out);
  out.verdict = verdict_on(out);
  return out;
}

}  // namespace brimwatch
