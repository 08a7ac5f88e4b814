#include "engine/judge.h"

#include "volume/day_total.h"
#include "volume/students_t.h"

namespace brimwatch {
namespace {

VolumeView known(const DayPlan& plan, const DayVolume& day, double missed_minutes, const Rules& rules) {
  VolumeView view;
  view.so_far = day.so_far;
  view.normal = Shares{static_cast<std::int64_t>(plan.normal * 1e6)};
  view.needed = rules.surge / 1e6;
  view.normal_days = plan.normal_days;
  view.feed_ratio = plan.feed_ratio;
  view.missed_minutes = missed_minutes;
  view.why_not = NoJudgement::none;
  if (plan.ratio_unknown) view.why_not = NoJudgement::ratio_unknown;
  else if (plan.ratio_unsteady) view.why_not = NoJudgement::ratio_unsteady;
  else if (!(plan.normal > 0)) view.why_not = NoJudgement::no_normal;
  return view;
}

}  // namespace

double wanted_volume(const DayPlan& plan, const Rules& rules) {
  return plan.can_judge() ? plan.normal * (1 + rules.surge / 1e8) : 0;
}

Weight weigh(double odds, const Rules& rules) {
  if (odds >= rules.odds_heavy) return Weight::heavy;
  return odds <= rules.odds_light ? Weight::light : Weight::unsettled;
}

VolumeView judge(const DayPlan& plan, const DayVolume& day, const Moment& moment, const Rules& rules, bool open) {
  VolumeView view = known(plan, day, moment.missed_to - moment.missed_from, rules);
  if (view.why_not != NoJudgement::none) return view;
  if (!open) {
    view.why_not = NoJudgement::outside_session;
    return view;
  }
  const Projection p = project(plan, day, moment, wanted_volume(plan, rules));
  view.projected = p.median;
  view.low = p.low;
  view.high = p.high;
  view.surge = 100 * (p.median / plan.normal - 1);
  view.minutes = moment.minutes;
  view.gap = plan.gap;
  view.lift = moment.lift;
  view.own_lift = moment.since_crossing >= 0 ? plan.own_lift : 0;
  view.odds = p.odds;
  view.weight = weigh(p.odds, rules);
  return view;
}

VolumeView not_judged(const DayPlan& plan, const DayVolume& day, const Rules& rules, NoJudgement why) {
  VolumeView view = known(plan, day, 0, rules);
  view.why_not = why;
  return view;
}

Weight judge_weight(const DayPlan& plan, const DayVolume& day, const Moment& moment, const Rules& rules) {
  if (!plan.can_judge()) return Weight::unknown;
  return weigh(project_odds(plan, day, moment, wanted_volume(plan, rules)), rules);
}

VolumeView judge_final(const DayPlan& plan, const DayVolume& day, double missed_minutes, const Rules& rules) {
  VolumeView view = known(plan, day, missed_minutes, rules);
  view.projected = view.low = view.high = day.so_far.as_double();
  if (view.why_not != NoJudgement::none) return view;
  const DayTotal total(plan, {.so_far = day.so_far.as_double(), .final = true});
  view.projected = total.at(0);
  view.low = total.at(skewed_t8_inverse(0.1));
  view.high = total.at(skewed_t8_inverse(0.9));
  view.surge = 100 * (view.projected / plan.normal - 1);
  view.odds = total.odds(wanted_volume(plan, rules));
  view.weight = weigh(view.odds, rules);
  return view;
}

}  // namespace brimwatch
