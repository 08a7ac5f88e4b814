// learn --grade --at-crossings: how good the odds are where a notice is made.
#include <cmath>
#include <cstdio>
#include <set>
#include <string>
#include <vector>

#include "commands/learn/learn.h"
#include "core/text/grouped_number.h"
#include "core/text/json.h"
#include "terminal/terminal.h"
#include "volume/grading/crossing_scores.h"

namespace brimwatch {
namespace {

using Bands = std::vector<CrossingBand>;

OrderedJson crossing_band_json(const CrossingBand& band) {
  const auto part = [](double value) { return std::round(value * 1e5) / 1e5; };
  const OddsScore& s = band.score;
  return {{"from_minute", static_cast<int>(band.from)},
          {"to_minute", static_cast<int>(band.to)},
          {"count", s.count},
          {"said", part(s.said)},
          {"came", part(s.came)},
          {"brier_skill", part(s.brier_skill)},
          {"log_loss", part(s.log_loss)},
          {"auc", part(s.auc)},
          {"precision_50", part(s.precision_50)},
          {"recall_50", part(s.recall_50)},
          {"precision_70", part(s.precision_70)},
          {"recall_70", part(s.recall_70)}};
}

void print_crossings_json(const CrossingScores& scores) {
  auto list = OrderedJson::array();
  for (const CrossingBand& band : scores.by_minute) list.push_back(crossing_band_json(band));
  write_json(stdout, OrderedJson{{"crossings", list}}.dump() + "\n");
}

void print_odds_row(const std::string& name, const OddsScore& s) {
  print_out("  %-14s %6d  %5.3f %5.3f %5.2f %8.3f %5.3f  %5.2f %5.2f  %5.2f %5.2f\n", name.c_str(), s.count, s.said,
            s.came, s.brier_skill, s.log_loss, s.auc, s.precision_50, s.recall_50, s.precision_70, s.recall_70);
}

/// "5-15", "above 195".
std::string band_name(const CrossingBand& band, const char* unit) {
  char text[64];
  if (band.from <= 0 && band.to < 1e9) std::snprintf(text, sizeof text, "up to %g%s", band.to, unit);
  else if (!(band.to < 1e9)) std::snprintf(text, sizeof text, "above %g%s", band.from, unit);
  else std::snprintf(text, sizeof text, "%g-%g%s", band.from, band.to, unit);
  return text;
}

void print_bands(const char* title, const Bands& bands, const char* unit = "", double per = 1) {
  print_out("%s\n", title);
  for (CrossingBand band : bands) {
    band.from /= per, band.to /= per;
    print_odds_row(band.to <= 0 ? "not known" : band_name(band, unit), band.score);
  }
}

/// Whole numbers: "1", "2-5", "6 and more".
void print_ages(const Bands& bands) {
  print_out("sessions since the high was last reached\n");
  for (const CrossingBand& band : bands) {
    const auto from = static_cast<int>(band.from) + 1;
    const bool open = !(band.to < 1e9);
    const auto to = open ? from : static_cast<int>(band.to);
    const std::string name = std::to_string(from) + (open ? " and more" : to > from ? "-" + std::to_string(to) : "");
    print_odds_row(name, band.score);
  }
}

void print_rules(const CrossingScores& scores) {
  const auto row = [](const char* name, const SimpleRule& rule) {
    print_out("  %-14s %34s %5.3f  %5.2f %5.2f\n", name, "", rule.auc, rule.precision, rule.recall);
  };
  print_out("simple rules, called at 1.4 x\n");
  row("linear pace", scores.linear);
  row("static profile", scores.profile);
}

void print_said_and_came(const Reliability& reliability) {
  print_out("\nodds said     count   said   came   95 %%\n");
  for (const ReliabilityRow& row : reliability.rows) {
    if (row.count == 0) continue;
    print_out("  %.1f-%.1f    %7d  %5.3f  %5.3f   %.2f-%.2f\n", row.from, row.to, row.count, row.said, row.share, row.low,
              row.high);
  }
  print_out("%s.\n", describe_drift(reliability).c_str());
}

void print_crossings(const CrossingScores& scores, int high, std::size_t symbols) {
  print_out(
      "First prices of a day at or above the high of %d sessions, %zu symbol%s; graded at the end of the bar in which "
      "it happened, each day judged only by the days before it.\n\n",
      high, symbols, symbols == 1 ? "" : "s");
  print_out("                         odds of day >= 1.4 x its mean         at .50       at .70\n");
  print_out("                  count   said  came skill log loss   AUC  right found  right found\n");
  print_odds_row("all", scores.all);
  print_bands("minutes since the open", scores.by_minute);
  print_bands("opening gap, daily standard deviations", scores.by_gap);
  print_ages(scores.by_age);
  print_bands("normal volume, thousand shares", scores.by_normal, "", 1000);
  print_rules(scores);
  print_said_and_came(scores.reliability);
  write_text(stdout,
             "\nIts mean: of 50 days. Said: the mean of the odds; came: the share that came true. Skill: of the Brier "
             "score, against saying the share that came each time. Right: of the crossings called, the share that came "
             "true; found: of those that came, the share called. A few dozen crossings of a few days say little: the "
             "stocks of a day move together.\n");
}

}  // namespace

void grade_crossings(const LearnOptions& options, const Calendar& calendar, CommandContext& context) {
  const auto counts = grades_day(options);
  const WalkOptions walk = parts_used(options);
  std::vector<GradedCrossing> crossings;
  std::set<std::string> symbols;
  const bool done = for_each_series(options, calendar, context, [&](const BarSeries& series) {
    walk_crossings(series, walk, options.high, [&](const WalkedDay& walked, const GradedCrossing& one) {
      if (!counts(walked.day)) return;
      crossings.push_back(one);
      symbols.insert(series.symbol);
    });
  });
  if (!done) return;
  const CrossingScores scores = score_crossings(crossings);
  if (context.json) return print_crossings_json(scores);
  if (!crossings.empty()) return print_crossings(scores, options.high, symbols.size());
  complain_of_learning(
      "no crossing to grade: a symbol needs more than 50 full sessions of bars with prices (a column high, or open and "
      "close), and a price at its high of " +
      std::to_string(options.high) + " sessions");
  context.exit = kBadInput;
}

}  // namespace brimwatch
