// What a person and a program read of a grading: base rates, said against came, curves of one's own.
#include <cmath>
#include <cstdio>

#include "core/text/json.h"
#include "weekend/grade.h"

namespace brimwatch {
namespace {

template <typename... Args>
std::string line(const char* format, Args... args) {
  char text[200];
  std::snprintf(text, sizeof text, format, args...);
  return std::string(text) + "\n";
}

std::string share_cell(const ClusteredShare& share) {
  char text[40];
  std::snprintf(text, sizeof text, "%.0f +- %.0f", 1000 * share.share, 1000 * share.half);
  return text;
}

std::string rates_table(const WatchRates& listed, const WatchRates& plain) {
  const auto row = [](const char* what, const std::string& a, const std::string& b) {
    return line("%-40s %16s %16s", what, a.c_str(), b.c_str());
  };
  const auto number = [](int count) { return std::to_string(count); };
  const auto percent = [](double share) { return std::to_string(std::lround(100 * share)) + " %"; };
  return row("", "bases listed", "plain highs") + row("watches", number(listed.watches), number(plain.watches)) +
         row("crossed within five sessions", percent(listed.within_5), percent(plain.within_5)) +
         row("crossed within ten, and bought", number(listed.bought), number(plain.bought)) +
         "of 1,000 bought (+- 1.96 standard errors, by month)\n" +
         row("  rose 20 % before falling 8 %", share_cell(listed.up20), share_cell(plain.up20)) +
         row("  fell 8 % first", share_cell(listed.down8), share_cell(plain.down8)) +
         row("  closed the day at the pivot or above", share_cell(listed.held), share_cell(plain.held)) +
         row("  on a surge of 40 % or more", share_cell(listed.surge), share_cell(plain.surge));
}

std::string curve_table(const char* title, const CurveGrade& grade) {
  if (grade.fifths.empty()) return std::string(title) + ": too few crossings for fifths, 50 are needed\n";
  std::string out = line("%s, of 1,000; plain highs in fifths by ordinary move", title) +
                    line("  %-16s %8s %10s %14s", "moves a day, %", "said", "own past", "came");
  for (const SaidAndCame& one : grade.fifths) {
    char span[40];
    std::snprintf(span, sizeof span, "%.2f - %.2f", one.move_least, one.move_most);
    out += line("  %-16s %8.0f %10s %14s", span, 1000 * one.said,
                grade.with_own > 0 ? std::to_string(std::lround(1000 * one.own)).c_str() : "-",
                share_cell(one.came).c_str());
  }
  out += line("  in the right order %.0f of 100 times; Brier score %.4f", 100 * grade.area, grade.said_error);
  if (grade.with_own == 0)
    return out + line("  no year had %d crossings before it to make a curve of your own", kFitLeast);
  return out + line("  curves of the years before: %.4f over all, %d crossings had one", grade.own_error, grade.with_own);
}

OrderedJson share_json(const ClusteredShare& share) { return {{"share", share.share}, {"half", share.half}}; }

OrderedJson rates_json(const WatchRates& rates) {
  return {{"watches", rates.watches},
          {"crossed", rates.crossed},
          {"bought", rates.bought},
          {"cross_in_5", rates.within_5},
          {"cross_in_5_area", rates.within_5_area},
          {"up20_first", share_json(rates.up20)},
          {"down8_first", share_json(rates.down8)},
          {"held", share_json(rates.held)},
          {"surge", share_json(rates.surge)}};
}

OrderedJson curve_json(const CurveGrade& grade) {
  OrderedJson out = {
      {"area", grade.area}, {"brier", grade.said_error}, {"own_brier", grade.own_error}, {"with_own", grade.with_own}};
  out["fifths"] = OrderedJson::array();
  for (const SaidAndCame& one : grade.fifths) {
    out["fifths"].push_back({{"move_least", one.move_least},
                             {"move_most", one.move_most},
                             {"said", one.said},
                             {"own", one.own},
                             {"came", one.came.share},
                             {"half", one.came.half}});
  }
  return out;
}

}  // namespace

std::string in_words(const Graded& graded, const OddsBook& book) {
  const auto up20 = grade_curve(graded.plain, CameFirst::up20, book.up20, kShippedUp20);
  const auto down8 = grade_curve(graded.plain, CameFirst::down8, book.down8, kShippedDown8);
  std::string out = line("%d stocks, every second weekend from %s to %s", graded.stocks, to_string(graded.from).c_str(),
                         to_string(graded.to).c_str());
  if (graded.unreadable > 0) out += line("files that could not be read: %d", graded.unreadable);
  if (graded.short_history > 0) {
    out += line("stocks with too short a history: %d (%d sessions before a weekend and %d after it are needed)",
                graded.short_history, kBarsNeeded, kBarsAfter);
  }
  if (graded.doubtful > 0)
    out += line("weekends left out, since prices change their unit near them: %d", graded.doubtful);
  out += "\n" + rates_table(base_rates(graded.listed), base_rates(graded.plain)) + "\n";
  out += curve_table("rose 20 % before falling 8 %", up20) + "\n" + curve_table("fell 8 % first", down8) + "\n";
  return out + "said: odds " + origin_of(book) + "\nown past: each year by the years before it alone\n";
}

std::string to_json(const Graded& graded, const OddsBook& book) {
  OrderedJson out = {{"from", to_string(graded.from)}, {"to", to_string(graded.to)}, {"stocks", graded.stocks}};
  out["doubtful"] = graded.doubtful;
  out["odds_from"] = origin_of(book);
  out["listed"] = rates_json(base_rates(graded.listed));
  out["plain"] = rates_json(base_rates(graded.plain));
  out["up20_first"] = curve_json(grade_curve(graded.plain, CameFirst::up20, book.up20, kShippedUp20));
  out["down8_first"] = curve_json(grade_curve(graded.plain, CameFirst::down8, book.down8, kShippedDown8));
  return out.dump();
}

Result<std::string> fitted_rules(const Graded& graded) {
  const auto book = fit_book(graded.plain);
  if (!book) {
    return fail("found " + std::to_string(base_rates(graded.plain).bought) + " crossings in your bars, at least " +
                std::to_string(kFitLeast) + " are needed for odds of your own; nothing was written");
  }
  return "# Odds from your own bars, " + to_string(graded.from) + " to " + to_string(graded.to) +
         ", drawn towards the shipped ones. Use: prepare --rules FILE, or\n# put the five keys into the "
         "configuration.\n" +
         "[prepare]\n" + line("up20_level = %.4f", book->up20.level) + line("up20_move = %.4f", book->up20.move) +
         line("down8_level = %.4f", book->down8.level) + line("down8_move = %.4f", book->down8.move) +
         line("odds_crossings = %d", book->own_crossings);
}

}  // namespace brimwatch
