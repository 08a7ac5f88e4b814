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

/// A high that one print may have made: it stands far above its own day's body and the two days on either side.
struct SinglePrint {
  double over = 0;  ///< how far above them, %
  Price next;       ///< the next high of the same stretch
  Date next_day;
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
  double handle_place = 0;   ///< handle's middle in the cup, 0 = bottom, 100 = rim
  double handle_volume = 0;  ///< mean against the 50 sessions before the handle, %
  double handle_drift = 0;   ///< mean close of its second half against its first, %
  double place = 0;          ///< last close between the low (0) and the high (100): flat base, cup, no base
  double undercut = 0;       ///< double bottom: second low under the first, %; negative: above
  double second_leg = 0;     ///< double bottom: fall into the second low, % of the fall into the first (logs)
  double normal_volume = 0;  ///< mean of the last 50 full sessions: as the daemon takes it
  double quiet = 0;          ///< quietest five sessions in a row of the last 25 (or the handle), % of normal volume
  std::optional<double> rising_volume;  ///< volume on rising days / on falling days, 50 sessions
  double to_pivot = 0;                  ///< how far the pivot stands above the last close, %
  std::optional<double> index_fall;     ///< deepest fall of the index during the base, by closes
  std::optional<Strength> strength;     ///< of the relative strength line on the last day
  std::optional<SinglePrint> print;     ///< where one print seems to have made the pivot
  std::optional<double> ten_weeks;      ///< mean of the last ten weekly closes
};

/// What is known of the market beside the stock's own bars.
struct MarketView {
  std::span<const DailyBar> index;  ///< up to the as-of day; empty when there is none
  std::span<const Date> half_days;  ///< ascending: their volume is no full day's
};

[[nodiscard]] Facts measure(std::span<const DailyBar> bars, const Base& base, const RuleBook& book,
                            const MarketView& market);

enum class Verdict : std::uint8_t { kept, broken, unknown };

struct RuleResult {
  const char* name = "";  ///< one word for JSON, e.g. "depth"
  Verdict verdict = Verdict::unknown;
  bool core = false;     ///< without it the base is not the kind it is called
  std::string sentence;  ///< plain English, with the number found and the number wanted
};

/// A description, no forecast: what a base keeps or breaks has not been found to tell what follows a crossing.
struct Judgement {
  std::vector<RuleResult> rules;
  int kept = 0, judged = 0;  ///< judged: kept or broken
  bool core_kept = true;     ///< no core rule is broken
  std::string explained;     ///< "15 of 16 rules kept; broken: dry-up"

  [[nodiscard]] int broken() const { return judged - kept; }
};

[[nodiscard]] Judgement judge(const Facts& facts, const RuleBook& book);

/// Doubtful bars earn no kept rule: the same rules, none of them judged. `doubts` are phrases, not empty.
[[nodiscard]] Judgement unjudged(Judgement judgement, const std::vector<std::string>& doubts);

/// Peak + offset, the peak rounded to the nearest tick first (adjusted history is rarely on it).
[[nodiscard]] Price pivot_of(Price peak, const RuleBook& book);

}  // namespace brimwatch
