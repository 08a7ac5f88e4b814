#pragma once
// Were the odds right? A table of what was said against what came, and a verdict whether the odds have drifted. Pure.
#include <array>
#include <cstdint>
#include <span>
#include <string>

#include "core/text/timestamp.h"

namespace brimwatch {

/// One judgement that has been decided: the odds as said, and whether the day ended at or above the wanted volume.
struct JudgedOdds {
  Date day;
  double odds = 0;  ///< 0..1; others are left out and counted
  bool came_true = false;
};

/// Odds between `from` and `to` (the last row includes 1).
struct ReliabilityRow {
  double from = 0, to = 0;
  int count = 0, came_true = 0;
  double said = 0;           ///< mean of the odds
  double share = 0;          ///< part that came true
  double low = 0, high = 1;  ///< 95 % Wilson interval of the share
};

enum class Drift : std::uint8_t {
  too_few,    ///< not enough decided to say anything
  holds,      ///< what came agrees with what was said, within chance
  too_high,   ///< less came true than was said
  too_low,    ///< more came true than was said
  too_bold,   ///< the level is right, but high odds were too high and low ones too low
  too_timid,  ///< the other way round
};

struct Reliability {
  std::array<ReliabilityRow, 10> rows;
  int count = 0, days = 0, left_out = 0;
  double said = 0, share = 0;  ///< over all
  double brier = 0;            ///< mean of (odds - outcome)^2; less is better
  double brier_skill = 0;      ///< 1 - brier / (b (1 - b)), b the share that came true; 0 where b is 0 or 1
  double level_z = 0;          ///< (came - said) in standard errors; stocks of one day count as moving together
  double slope_z = 0;          ///< the same for the spread of the odds: negative is too bold
  Drift drift = Drift::too_few;
};

struct Interval {
  double low = 0, high = 1;
};
/// Wilson's score interval of a share, for z standard errors.
[[nodiscard]] Interval wilson_interval(int hits, int count, double z = 1.959964);

[[nodiscard]] Reliability judge_reliability(std::span<const JudgedOdds> judged);

/// One line for a person, e.g. "Odds drifted: 31 judgements said 0.74 on average, 0.52 came true".
[[nodiscard]] std::string describe_drift(const Reliability& reliability);

}  // namespace brimwatch
