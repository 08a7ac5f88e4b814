// learn --grade: how good the projection is at fixed minutes of the day.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "commands/learn/learn.h"
#include "core/text/json.h"
#include "terminal/terminal.h"
#include "volume/grading/score.h"
#include "volume/learning/kalman.h"

namespace brimwatch {
namespace {

/// The usual points of a day where they are ends of bars; else ends of bars as they come, seven at the most.
std::vector<double> default_minutes(const BarSeries& series) {
  const auto known = [&](std::initializer_list<double> wanted) {
    std::vector<double> minutes;
    std::copy_if(wanted.begin(), wanted.end(), std::back_inserter(minutes),
                 [&](double minute) { return series.knows(minute); });
    return minutes;
  };
  if (auto minutes = known({15, 30, 60, 90, 120, 195, 300}); minutes.size() >= 4) return minutes;
  if (auto minutes = known({30, 90, 150, 210, 270, 330}); minutes.size() >= 4) return minutes;
  std::vector<double> minutes;
  for (int end = series.first_end; end < 390 && minutes.size() < 7; end += std::max(series.bar_minutes, 1))
    minutes.push_back(end);
  return minutes;
}

/// Minutes that were asked for and are inside a bar: nobody knows what had traded by then.
void tell_unknown(const std::vector<double>& minutes, const BarSeries& series) {
  for (const double minute : minutes) {
    if (series.knows(minute)) continue;
    complain_of_learning(series.symbol + ": minute " + std::to_string(static_cast<int>(minute)) +
                         " is not the end of a bar of " + std::to_string(series.bar_minutes) +
                         " minutes; it is left out");
  }
}

double round_to(double value, double scale) { return std::round(value * scale) / scale; }

OrderedJson point_json(const ScorePoint& p) {
  const auto percent = [](double value) { return round_to(value, 1e3); };
  const auto part = [](double value) { return round_to(value, 1e5); };
  return {{"minute", p.minute == std::floor(p.minute) ? OrderedJson(static_cast<int>(p.minute)) : OrderedJson(p.minute)},
          {"days", p.days},
          {"mape", percent(p.mape)},
          {"mdape", percent(p.mdape)},
          {"cover80", part(p.cover80)},
          {"cover90", part(p.cover90)},
          {"crps", part(p.crps)},
          {"base_rate", part(p.base_rate)},
          {"brier_skill", part(p.brier_skill)},
          {"auc", part(p.auc)},
          {"precision_50", part(p.precision_50)},
          {"recall_50", part(p.recall_50)},
          {"precision_70", part(p.precision_70)},
          {"recall_70", part(p.recall_70)},
          {"linear_mape", percent(p.linear_mape)},
          {"profile_mape", percent(p.profile_mape)}};
}

void print_json(const std::vector<ScorePoint>& points) {
  auto list = OrderedJson::array();
  for (const ScorePoint& point : points) list.push_back(point_json(point));
  write_json(stdout, OrderedJson{{"points", list}}.dump() + "\n");
}

/// How far the projection is off, beside what the simplest rules are off.
void print_errors(const std::vector<ScorePoint>& points) {
  print_out("                  error, %%      inside the            ln of    mean error, %%\n");
  print_out("minute    days   mean median   80 %%  90 %% interval    CRPS   linear  profile\n");
  for (const ScorePoint& p : points) {
    print_out("%6.0f %7d %6.1f %6.1f   %4.2f  %4.2f            %6.3f   %6.1f %8.1f\n", p.minute, p.days, p.mape, p.mdape,
              p.cover80, p.cover90, p.crps, p.linear_mape, p.profile_mape);
  }
}

void print_odds(const std::vector<ScorePoint>& points) {
  print_out("\nodds of a day >= 1.4 x its 50-day mean       called at .50    at .70\n");
  print_out("minute    base   skill     AUC               right  found  right  found\n");
  for (const ScorePoint& p : points) {
    print_out("%6.0f   %5.3f  %6.2f   %5.3f                %4.2f   %4.2f   %4.2f   %4.2f\n", p.minute, p.base_rate,
              p.brier_skill, p.auc, p.precision_50, p.recall_50, p.precision_70, p.recall_70);
  }
}

void print_table(const std::vector<ScorePoint>& points, std::size_t symbols) {
  print_out(
      "The day's total as projected at each minute since the open, %zu symbol%s, each day judged only by the days "
      "before it.\n\n",
      symbols, symbols == 1 ? "" : "s");
  print_errors(points);
  print_odds(points);
  write_text(stdout,
             "\nRight: of the days called at these odds, the share that came true; found: of the days that came, the "
             "share called. The mean error rewards low forecasts, so read the median beside it. Differences under half "
             "a point mean nothing.\n");
}

/// The state-space model in the place of the projection; the simple rules stay.
void grade_kalman(const BarSeries& series, const WalkOptions& walk, const GradeSink& sink) {
  std::map<std::pair<std::int32_t, double>, GradedForecast> ours;
  walk_days(series, walk, [&](const SessionBars& day, const GradedForecast& one) { ours[{day.day, one.minute}] = one; });
  walk_kalman(series, walk, [&](const SessionBars& day, const GradedForecast& one) {
    const auto found = ours.find({day.day, one.minute});
    if (found == ours.end()) return;
    GradedForecast both = found->second;
    both.forecast = one.forecast;
    sink(day, both);
  });
}

WalkOptions walk_options(const LearnOptions& options, const BarSeries& series) {
  WalkOptions walk = parts_used(options);
  walk.minutes = options.minutes.empty() ? default_minutes(series) : options.minutes;
  if (options.hole.size() == 2) walk.hole_from = options.hole[0], walk.hole_to = options.hole[1];
  return walk;
}

}  // namespace

WalkOptions parts_used(const LearnOptions& options) {
  const auto has = [&](const char* part) {
    return std::find(options.without.begin(), options.without.end(), part) != options.without.end();
  };
  WalkOptions walk;
  walk.cold = options.cold;
  walk.use_gap = !options.no_gap;
  walk.use_weekday = !has("weekday");
  walk.use_thinness = !has("thinness");
  walk.use_lift = !has("crossing");
  return walk;
}

void grade_minutes(const LearnOptions& options, const Calendar& calendar, CommandContext& context) {
  const auto counts = grades_day(options);
  Scores scores;
  std::set<std::string> symbols;
  const bool done = for_each_series(options, calendar, context, [&](const BarSeries& series) {
    const GradeSink sink = [&](const SessionBars& day, const GradedForecast& one) {
      if (!counts(day)) return;
      scores.add(one);
      symbols.insert(series.symbol);
    };
    const WalkOptions walk = walk_options(options, series);
    tell_unknown(options.minutes, series);
    if (options.model == "kalman") grade_kalman(series, walk, sink);
    else walk_days(series, walk, sink);
  });
  if (!done) return;
  const auto points = scores.points();
  if (context.json) return print_json(points);
  if (points.empty()) {
    complain_of_learning(
        "no day to grade: a symbol needs more than 50 full sessions in its bars, and the minutes must be ends of bars");
    context.exit = kBadInput;
    return;
  }
  print_table(points, symbols.size());
}

}  // namespace brimwatch
