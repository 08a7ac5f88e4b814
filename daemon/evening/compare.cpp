#include "evening/compare.h"

#include <algorithm>
#include <set>

#include "evening/block_test.h"
#include "evening/measures.h"

namespace brimwatch {
namespace {

std::vector<Date> sessions_of(const Review& a, const Review& b) {
  std::set<Date> out(a.sessions.begin(), a.sessions.end());
  out.insert(b.sessions.begin(), b.sessions.end());
  for (const Review* review : {&a, &b}) {
    for (const Crossing& one : review->crossings) out.insert(one.said.notice.day);
  }
  return {out.begin(), out.end()};
}

std::vector<SessionPair> by_session(const Review& a, const Review& b, const std::vector<Date>& sessions,
                                    const MeasureKind& kind) {
  std::vector<SessionPair> out(sessions.size());
  const auto add = [&](const Review& review, Part SessionPair::*side) {
    for (const Crossing& one : review.crossings) {
      const auto at = std::lower_bound(sessions.begin(), sessions.end(), one.said.notice.day) - sessions.begin();
      Part& part = out[static_cast<std::size_t>(at)].*side;
      if (const auto value = kind.value(one)) part.sum += *value, ++part.count;
    }
  };
  add(a, &SessionPair::a);
  add(b, &SessionPair::b);
  return out;
}

Share share_of(const Review& review, const MeasureKind& kind) {
  std::vector<Decided> decided;
  for (const Crossing& one : review.crossings) {
    if (const auto value = kind.value(one)) decided.push_back({one.said.notice.day, *value > 0.5});
  }
  return share_of(decided, kVolumeAlike);
}

Part total(const std::vector<SessionPair>& sessions, Part SessionPair::*side) {
  Part out;
  for (const SessionPair& one : sessions) out.sum += (one.*side).sum, out.count += (one.*side).count;
  return out;
}

void fill_sides(Measure& out, const std::vector<SessionPair>& sessions, double scale) {
  const Part a = total(sessions, &SessionPair::a), b = total(sessions, &SessionPair::b);
  out.count_a = a.count, out.count_b = b.count;
  if (a.count > 0) out.a = scale * a.sum / a.count;
  if (b.count > 0) out.b = scale * b.sum / b.count;
  if (a.count > 0 && b.count > 0) out.difference = out.b - out.a;
}

void fill_test(Measure& out, const std::vector<SessionPair>& sessions, double scale) {
  out.blocks = blocks_of(sessions, out.horizon);
  const auto test = block_test(sessions, out.horizon);
  if (!test) return;
  out.error = scale * test->error;
  out.p = test->p;
  out.low = scale * test->low, out.high = scale * test->high;
}

Measure measure_of(const Review& a, const Review& b, const std::vector<Date>& days, const MeasureKind& kind) {
  const auto sessions = by_session(a, b, days, kind);
  Measure out;
  out.name = kind.name;
  out.more_is_better = kind.more_is_better;
  out.horizon = kind.horizon;
  out.is_share = kind.is_share;
  out.less_index = kind.less_index;
  const double scale = kind.is_share ? 100 : 1;
  fill_sides(out, sessions, scale);
  if (kind.is_share) out.share_a = share_of(a, kind), out.share_b = share_of(b, kind);
  fill_test(out, sessions, scale);
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
    measure.within_noise = measure.p_together >= kBeyondNoise;
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
  out.push_back({"  of these still open", a.followed.open, b.followed.open});
  return out;
}

std::string too_few(const Comparison& out) {
  const int needed = kLeastBlocks * 2 * kDayHorizon;
  return "These " + std::to_string(out.sessions) + (out.sessions == 1 ? " session is" : " sessions are") +
         " too few to prefer either: chance can be judged from " + std::to_string(needed) +
         " sessions on for the day itself, from " + std::to_string(kLeastBlocks * 2 * kSpans.back()) +
         " for what came within 20 sessions.";
}

std::string verdict_on(const Comparison& comparison) {
  std::string better;
  bool judged = false;
  for (const Measure& measure : comparison.measures) {
    judged = judged || measure.p.has_value();
    if (measure.within_noise) continue;
    const bool b_is_better = (measure.difference > 0) == measure.more_is_better;
    better += (better.empty() ? "" : "; ") + measure.name + ": " + (b_is_better ? "B" : "A") + " is better";
  }
  if (!judged) return too_few(comparison);
  if (better.empty())
    return "WARNING: every difference is within noise. These days give no reason to prefer either set of rules.";
  return "Beyond noise: " + better + ". Every other difference is within noise.";
}

}  // namespace

Comparison compare(const Review& a, const Review& b) {
  Comparison out;
  const auto sessions = sessions_of(a, b);
  std::set<Date> days;
  for (const Review* review : {&a, &b}) {
    for (const Crossing& one : review->crossings) days.insert(one.said.notice.day);
  }
  out.sessions = static_cast<int>(sessions.size());
  out.days = static_cast<int>(days.size());
  out.has_index = a.has_index && b.has_index;
  out.tallies = tallies_of(a, b);
  for (const MeasureKind& kind : measure_kinds(out.has_index)) out.measures.push_back(measure_of(a, b, sessions, kind));
  judge_together(out);
  out.verdict = verdict_on(out);
  return out;
}

}  // namespace brimwatch
