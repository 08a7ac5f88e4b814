// The weekend's list as a table for the terminal, 80 columns wide: how near, how sure, what it is.
#include <algorithm>
#include <cstdio>

#include "core/shares.h"
#include "weekend/choose.h"
#include "weekend/list.h"

namespace brimwatch {
namespace {

template <typename... Args>
std::string cell(const char* format, Args... args) {
  char text[200];
  std::snprintf(text, sizeof text, format, args...);
  return text;
}

std::string outlook_cells(const std::optional<Outlook>& outlook) {
  if (!outlook) return cell("%5s %5s %5s %5s", "-", "-", "-", "-");
  return cell("%5.1f %5.0f %5.0f %5.0f", outlook->moves_to_pivot, 100 * outlook->cross_in_5, 1000 * outlook->up20_first,
              1000 * outlook->down8_first);
}

std::string row_of(const Candidate& one) {
  const Facts& f = one.facts;
  const std::string kept = one.doubts.empty() ? cell("%d of %d", one.judgement.kept, one.judgement.judged) : "not judged";
  std::string out = cell("%-7s %-15s %9s %5.1f%% ", one.symbol.c_str(), std::string(to_string(f.kind)).c_str(),
                         to_string(f.pivot).c_str(), f.to_pivot) +
                    outlook_cells(one.outlook) + cell("  %s\n", kept.c_str());
  for (const std::string& more : {one.report, one.ahead, one.doubts.empty() ? std::string() : one.doubts.front(),
                                  f.print ? "one print may have made this pivot" : std::string()}) {
    if (!more.empty()) out += cell("%-7s ", "") + more + "\n";
  }
  return out;
}

std::string key_of(const OddsBook& odds) {
  return "moves: ordinary daily moves up to the pivot; week: of 100 such, how many cross\n"
         "within five sessions; +20, -8: of 1,000 crossings by stocks that move so, how\n"
         "many rose 20 % before falling 8 %, how many fell first " +
         cell("(all plain 50-day highs:\n%.0f, %.0f). ", 1000 * kShippedUp20Rate, 1000 * kShippedDown8Rate) +
         "In single years half to 1.7 times that; the shape adds nothing\nmeasured. Odds " + origin_of(odds) + "\n";
}

}  // namespace

std::string overview(const Prepared& prepared, int show) {
  std::string out = cell("%-7s %-15s %9s %6s %5s %5s %5s %5s  %s\n", "symbol", "base", "pivot", "to go", "moves", "week",
                         "+20", "-8", "rules kept");
  const int all = static_cast<int>(prepared.candidates.size()), shown = std::min(show, all);
  for (int i = 0; i < shown; ++i) out += row_of(prepared.candidates[static_cast<std::size_t>(i)]);
  if (all > shown) {
    out += cell("and %d more, %d of them near; all are in the list that --out writes (--set show=%d)\n", all - shown,
                std::max(0, prepared.near - shown), all);
  }
  return out + key_of(prepared.odds);
}

}  // namespace brimwatch
