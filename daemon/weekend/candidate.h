#pragma once
// A base worth a person's look, with all that is said of it.
#include <optional>
#include <string>
#include <vector>

#include "weekend/facts.h"
#include "weekend/outlook.h"

namespace brimwatch {

struct Candidate {
  std::string symbol;
  Base base;
  Facts facts;
  Judgement judgement;
  std::optional<Outlook> outlook;   ///< empty where the history is too short for an ordinary move
  std::vector<std::string> doubts;  ///< of its bars (doubts.h); with any, nothing is judged
  std::string adjusted;             ///< splits and dividends taken out of its history
  std::string report;               ///< "reports 2026-12-03, in 8 days", or empty
  std::string ahead;                ///< splits and dividends to come, or empty
  std::vector<DailyBar> bars;       ///< from some weeks before the start to the last; empty unless keep_bars
  std::vector<double> line;         ///< the relative strength line of those bars, or empty
  std::vector<DailyBar> weeks;      ///< weekly bars of two years; empty unless keep_bars
  int first = 0;                    ///< index of bars[0] in the whole series: base.start - first is its place in `bars`
};

}  // namespace brimwatch
