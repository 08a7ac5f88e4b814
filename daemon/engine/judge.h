#pragma once
// The volume judgement of one watch at one moment: the projection put beside what is normal. Pure.
#include "core/notice.h"
#include "engine/sides.h"
#include "volume/projection.h"

namespace brimwatch {

/// Shares of a day that make the wanted surge; 0 when normal is unknown.
[[nodiscard]] double wanted_volume(const DayPlan& plan, const Rules& rules);

[[nodiscard]] Weight weigh(double odds, const Rules& rules);

/// `open`: regular trading is under way or has been today; before it nothing is judged.
[[nodiscard]] VolumeView judge(const DayPlan& plan, const DayVolume& day, const Moment& moment, const Rules& rules,
                               bool open);

/// What is known of the volume where something else stands in the way of a judgement.
[[nodiscard]] VolumeView not_judged(const DayPlan& plan, const DayVolume& day, const Rules& rules, NoJudgement why);

/// The weight of judge() in regular trading, alone: what is asked of every waiting watch every few seconds.
[[nodiscard]] Weight judge_weight(const DayPlan& plan, const DayVolume& day, const Moment& moment, const Rules& rules);

/// The judgement of a finished day: odds are 0 or 1, unless the feed's part of the tape differs from day to day.
[[nodiscard]] VolumeView judge_final(const DayPlan& plan, const DayVolume& day, double missed_minutes,
                                     const Rules& rules);

}  // namespace brimwatch
