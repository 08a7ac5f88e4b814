#pragma once
// What the parts of `learn` share.
#include <functional>
#include <string>
#include <vector>

#include "commands/command.h"
#include "commands/learn/bar_input.h"
#include "volume/grading/walk.h"

namespace brimwatch {

struct LearnOptions {
  BarInput input;
  std::vector<double> minutes, hole;
  std::string calendar = "XNYS", from, show, model = "remainder", stamp = "auto", curves, zone = "exchange";
  bool grade = false, at_crossings = false, cold = false, no_gap = false;
  std::vector<std::string> without;  ///< parts of the model
  int high = 50;                     ///< sessions of the high whose crossings are graded
};

/// One line for the person, on standard error.
void complain_of_learning(const std::string& text);

/// What of the model is used, by --cold, --no-gap and --without.
[[nodiscard]] WalkOptions parts_used(const LearnOptions& options);

/// Calls `use` with every series of the files. One that cannot be read is told, sets the exit code and is left out; false
/// when none could.
bool for_each_series(const LearnOptions& options, const Calendar& calendar, CommandContext& context,
                     const std::function<void(const BarSeries&)>& use);

/// Whether a day is to be graded: on or after --from.
[[nodiscard]] std::function<bool(const SessionBars&)> grades_day(const LearnOptions& options);

/// learn --grade, at minutes of the day.
void grade_minutes(const LearnOptions& options, const Calendar& calendar, CommandContext& context);

/// learn --grade --at-crossings.
void grade_crossings(const LearnOptions& options, const Calendar& calendar, CommandContext& context);

}  // namespace brimwatch
