#pragma once
// Every number of the weekend's work (`brimwatch prepare`), with its name in the configuration's [prepare]. The defaults
// are facts of the trade, common practice; where practice gives no number, the key's meaning says "house".
#include <span>
#include <variant>

namespace brimwatch {

/// Percentages are plain (30 = 30 %), lengths are in sessions (five a week).
struct RuleBook {
  // Shapes: what is a base at all. Wider than the rules, so that a base which breaks one is shown with the reason.
  int rim_clear = 60;
  int rise_within = 130;
  double shape_rise = 15;
  int turn_within = 130;
  int length_most = 325;
  double rim_above = 3;
  int handle_least = 5;
  int handle_most = 40;
  double shape_handle_depth = 18;
  double shape_cup_depth_least = 10;
  double shape_cup_depth_most = 50;
  int shape_cup_length = 30;
  double cliff_most = 50;
  double climbed_least = 75;
  double middle_least = 40;
  double second_under = 5;
  double second_over = 3;
  int bottoms_apart = 10;
  double legs_ratio_least = 50;
  double first_leg_least = 10;
  double shape_w_depth_least = 12;
  double shape_w_depth_most = 50;
  int shape_w_length = 30;
  int shape_flat_length = 20;
  int settled = 5;
  double flat_slack = 3;
  double shape_flat_depth = 18;

  // Rules of thumb: each is kept or broken, and said so.
  double rise_least = 30;
  double flat_rise_least = 20;
  double cup_depth_least = 15;
  double cup_depth_most = 30;
  double depth_most_index_fell = 40;
  double depth_little_more = 5;
  double index_fell = 10;
  int cup_length_least = 35;
  double handle_depth_most = 12;
  double handle_volume_most = 90;
  int bottom_sessions_least = 10;
  double w_depth_least = 15;
  double w_depth_most = 30;
  int w_length_least = 35;
  int flat_length_least = 25;
  double flat_depth_most = 15;
  double quiet_most = 75;
  double rising_volume_least = 1;
  double strength_place_least = 70;

  // The odds of what follows a crossing (daemon/crossings/odds.h): p = 1 / (1 + exp(-(level + move / ordinary move))).
  double up20_level = 0.099;
  double up20_move = -2.705;
  double down8_level = 0.772;
  double down8_move = -1.302;
  int odds_crossings = 0;

  // What is written to the list.
  double offset = 0.10;
  double tick_size = 0.01;
  double print_most = 2;
  int core_needed = 1;
  int broken_most = 2;
  int plain_listed = 0;
  double near = 4;
  int show = 20;
  int per_symbol = 1;
  double price_least = 0;
  double volume_least = 0;
  int keep_days = 56;
  int report_days = 14;
  double dividend_least = 3;
  double loss_limit = 8;

  bool operator==(const RuleBook&) const = default;
};

struct RuleKey {
  const char* name;
  std::variant<int RuleBook::*, double RuleBook::*> member;
  double least, most;   ///< allowed, both included
  const char* meaning;  ///< a phrase for a person, with the unit
};

[[nodiscard]] std::span<const RuleKey> rule_keys();

}  // namespace brimwatch
