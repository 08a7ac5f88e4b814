#pragma once
// What can be said of a base in numbers, and how it stands against the rules of thumb. Pure.
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "core/daily.h"
#include "weekend/base.h"
#include "weekend/indicators.h"
#include "weekend/rulebook.h"

namespace brimwatch {

/// A point of a base: its day and its exact price (a high or a low).
struct Point {
  const char* name = "";
  Date day;
  Price price;
};

/// Percentages are plain; volumes in shares; lengths in sessions.
struct Facts {
  BaseKind kind = BaseKind::flat_base;
  std::vector<Point> points;  ///< in the order of time
  Date as_of;                 ///< day of the last bar
  Price pivot, last_close;
  Price floor;            ///< low of the handle, of the second bottom, of the flat base: a close under it breaks the base
  double prior_rise = 0;  ///< from the lowest low before the start
  Date rise_from;         ///< its day
  double depth = 0;
  int length = 0;
  int bottom_sessions = 0;  ///< closes in the lower third of the cup
  int handle_length = 0;    ///< cup with handle only, like the next five
  double handle_depth = 0;
  double handle_place = 0;        ///< handle's low in the cup, 0 = bottom, 100 = rim
  double handle_volume = 0;       ///< mean against the 50 sessions before the handle, %
  double handle_drift = 0;        ///< mean close of its second half against its first, %
  double place = 0;               ///< flat base: last close between its low (0) and its high (100)
  double undercut = 0;            ///< double bottom: second low under the first, %; negative: above
  double normal_volume = 0;       ///< mean of the last 50 sessions
  double quiet = 0;               ///< quietest five sessions in a row of the last 25 (or the handle), % of normal volume
  std::optional<double> up_down;  ///< volume of up days / of down days, 50 sessions
  double to_pivot = 0;            ///< how far the pivot stands above the last close, %
  std::optional<double> index_fall;  ///< deepest fall of the index during the base
  std::optional<Strength> strength;  ///< of the relative strength line on the last day
};

struct IndexView {
  std::span<const DayBar> bars;  ///< up to the as-of day; empty when there is none
};

[[nodiscard]] Facts measure(std::span<const DayBar> bars, const Base& base, const RuleBook& book, const IndexView& index);

enum class Verdict : std::uint8_t { kept, broken, unknown };

struct RuleResult {
  const char* name = "";  ///< one word for JSON, e.g. "depth"
  Verdict verdict = Verdict::unknown;
  int weight = 0;
  bool core = false;     ///< without it the base is not the kind it is called
  std::string sentence;  ///< plain English, with the number found and the number wanted
};

struct Judgement {
  std::vector<RuleResult> rules;
  int points = 0, points_most = 0;  ///< of the rules that could be judged
  double score = 0;                 ///< 100 x points / points_most
  bool core_kept = true;            ///< no core rule is broken
  std::string explained;            ///< "score 85: 17 of 20 points; lost: depth 3"
};

[[nodiscard]] Judgement judge(const Facts& facts, const RuleBook& book);

/// Peak + offset, the peak rounded to the nearest tick first (adjusted history is rarely on it).
[[nodiscard]] Price pivot_of(Price peak, const RuleBook& book);

}  // namespace brimwatch
