// brimwatch learn: curves from bar files, their picture, and grades of the projection.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <map>
#include <memory>
#include <nlohmann/json.hpp>
#include <set>
#include <string>
#include <vector>

#include "commands/bar_input.h"
#include "commands/command.h"
#include "commands/progress.h"
#include "config/paths.h"
#include "session/calendar.h"
#include "terminal/terminal.h"
#include "volume/kalman.h"
#include "volume/learned_file.h"
#include "volume/picture.h"
#include "volume/score.h"
#include "volume/walk.h"

namespace brimwatch {
namespace {

struct LearnOptions {
  BarInput input;
  std::vector<double> minutes, hole;
  std::string calendar = "XNYS", from, show, model = "remainder", stamp = "auto", curves, zone = "exchange";
  bool grade = false, cold = false, no_gap = false;
};

void complain(const std::string& text) { print_error("brimwatch learn: %s\n", text.c_str()); }

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
    complain(series.symbol + ": minute " + std::to_string(static_cast<int>(minute)) + " is not the end of a bar of " +
             std::to_string(series.bar_minutes) + " minutes; it is left out");
  }
}

double round_to(double value, double scale) { return std::round(value * scale) / scale; }

nlohmann::ordered_json point_json(const ScorePoint& p) {
  const auto percent = [](double value) { return round_to(value, 1e3); };
  const auto part = [](double value) { return round_to(value, 1e5); };
  return {{"minute", p.minute == std::floor(p.minute) ? nlohmann::ordered_json(static_cast<int>(p.minute))
                                                      : nlohmann::ordered_json(p.minute)},
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
  auto list = nlohmann::ordered_json::array();
  for (const ScorePoint& point : points) list.push_back(point_json(point));
  print_out("%s\n", nlohmann::ordered_json{{"points", list}}.dump().c_str());
}

void print_table(const std::vector<ScorePoint>& points, std::size_t symbols) {
  print_out(
      "The day's total as projected at each minute since the open, %zu symbol%s, each day judged only by the days before "
      "it.\n\n",
      symbols, symbols == 1 ? "" : "s");
  write_text(
      stdout,
      "                error, %      inside the          ln of   odds of day >= 1.4 x its 50-day mean           simple "
      "rules, mean error %\n");
  write_text(
      stdout,
      "minute   days   mean median   80 %  90 % interval  CRPS    base  skill   AUC   at .50 right found  at .70     "
      "linear  profile\n");
  for (const ScorePoint& p : points) {
    print_out(
        "%6.0f %6d %6.1f %6.1f   %4.2f  %4.2f           %5.3f   %.3f  %5.2f  %.3f         %4.2f  %4.2f  %4.2f %4.2f   "
        "%6.1f %8.1f\n",
        p.minute, p.days, p.mape, p.mdape, p.cover80, p.cover90, p.crps, p.base_rate, p.brier_skill, p.auc,
        p.precision_50, p.recall_50, p.precision_70, p.recall_70, p.linear_mape, p.profile_mape);
  }
  write_text(
      stdout,
      "\nRight: of the days called at these odds, the share that came true; found: of the days that came, the share "
      "called. The mean\n"
      "error rewards low forecasts, so read the median beside it. Differences under half a point mean nothing.\n");
}

/// The state-space model in the place of the projection; the simple rules stay.
void grade_kalman(const BarSeries& series, const WalkOptions& walk, const GradeSink& sink) {
  std::map<std::pair<std::int32_t, double>, GradedForecast> ours;
  walk_days(series, walk, [&](const BarDay& day, const GradedForecast& one) { ours[{day.day, one.minute}] = one; });
  walk_kalman(series, walk, [&](const BarDay& day, const GradedForecast& one) {
    const auto found = ours.find({day.day, one.minute});
    if (found == ours.end()) return;
    GradedForecast both = found->second;
    both.forecast = one.forecast;
    sink(day, both);
  });
}

/// What bars cannot teach stays as the daemon learned it.
void keep_ratio(Learned& learned, const Learned& old) {
  learned.ratios = old.ratios;
  learned.ratio_count = old.ratio_count;
  learned.ratio_days = old.ratio_days;
  renew_ratio(learned);
}

WalkOptions walk_options(const LearnOptions& options, const BarSeries& series) {
  WalkOptions walk{options.minutes.empty() ? default_minutes(series) : options.minutes, options.cold, !options.no_gap};
  if (options.hole.size() == 2) walk.hole_from = options.hole[0], walk.hole_to = options.hole[1];
  return walk;
}

/// Calls `use` with every series of the files. One that cannot be read is told, sets the exit code and is left out; false
/// when none could.
template <typename Use>
bool for_each_series(const LearnOptions& options, const Calendar& calendar, CommandContext& context, Use use) {
  bool any = false;
  ProgressLine progress;
  const auto groups = group_files(options.input);
  std::uint64_t done = 0;
  for (const auto& [symbol, paths] : groups) {
    if (progress.due())
      progress.show({done, "symbols", static_cast<double>(done) / static_cast<double>(groups.size()), 0, symbol});
    ++done;
    auto all = read_series(symbol, paths, options.input, calendar, [&](const std::string& told) {
      progress.clear();
      complain(told);
    });
    if (!options.grade || !all) progress.clear();  // lines of the result come now
    if (!all) {
      complain(all.error().text);
      context.exit = kBadInput;
      continue;
    }
    for (const BarSeries& series : *all) use(series);
    any = true;
  }
  return any;
}

void grade(const LearnOptions& options, const Calendar& calendar, CommandContext& context) {
  const auto from = options.from.empty() ? std::optional<Date>() : parse_date(options.from);
  Scores scores;
  std::set<std::string> symbols;
  const bool done = for_each_series(options, calendar, context, [&](const BarSeries& series) {
    const GradeSink sink = [&](const BarDay& day, const GradedForecast& one) {
      if (from && day.dated() && Date{day.day} < *from) return;
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
    complain(
        "no day to grade: a symbol needs more than 50 full sessions in its bars, and the minutes must be ends of bars");
    context.exit = kBadInput;
    return;
  }
  print_table(points, symbols.size());
}

std::string curves_path(const LearnOptions& options) {
  return options.curves.empty() ? places().learned() : options.curves;
}

void learn_files(const LearnOptions& options, const Calendar& calendar, CommandContext& context) {
  const std::string path = curves_path(options);
  auto curves = read_learned(path);
  if (!curves) return complain(curves.error().text), void(context.exit = kBadInput);
  std::size_t learned_days = 0, symbols = 0;
  const bool done = for_each_series(options, calendar, context, [&](const BarSeries& series) {
    Learned learned = walk_days(series, {}, [](const BarDay&, const GradedForecast&) {});
    if (learned.days == 0) return complain(series.symbol + ": no full session in its bars; nothing was learned");
    if (const auto old = curves->find(series.symbol); old != curves->end()) keep_ratio(learned, old->second);
    print_out("%-8s %5d days%s%s, errors %.2f x the usual width%s\n", series.symbol.c_str(), learned.days,
              learned.last_day.days > 0 ? ", newest " : "",
              learned.last_day.days > 0 ? to_string(learned.last_day).c_str() : "", learned.kappa,
              learned.curve.auction < 0.05 ? ", no closing auction seen" : "");
    learned_days += static_cast<std::size_t>(learned.days);
    ++symbols;
    (*curves)[series.symbol] = learned;
  });
  if (!done || symbols == 0) return void(context.exit = context.exit == kFine ? kBadInput : context.exit);
  const std::size_t slash = path.find_last_of('/');
  if (slash != std::string::npos && slash > 0 && !make_private_directory(path.substr(0, slash))) {
    return complain(path.substr(0, slash) + ": the folder cannot be made"), void(context.exit = kFailed);
  }
  if (Status status = write_learned(path, *curves); !status)
    return complain(status.error().text), void(context.exit = kFailed);
  print_out("%zu curve%s from %zu days written to %s; see one with: brimwatch learn --show SYMBOL\n", symbols,
            symbols == 1 ? "" : "s", learned_days, path.c_str());
}

void show(const LearnOptions& options, CommandContext& context) {
  const std::string path = curves_path(options);
  const auto curves = read_learned(path);
  if (!curves) return complain(curves.error().text), void(context.exit = kBadInput);
  const auto found = curves->find(options.show);
  if (found != curves->end()) return void(write_text(stdout, draw_curve(options.show, found->second)));
  complain(path + " has no curve of " + options.show + "; learn one with: brimwatch learn " + options.show +
           ".csv. The default:");
  write_text(stdout, draw_curve("default", {}));
  context.exit = kFailed;
}

/// "--at 15 30 FILE": the 30 comes as a file. False, and told, where there is a path that does not exist.
bool sort_paths(LearnOptions& options) {
  std::vector<std::string> paths;
  for (const std::string& one : options.input.paths) {
    std::error_code problem;
    const bool number = !one.empty() && one.size() <= 4 && one.find_first_not_of("0123456789") == std::string::npos;
    if (std::filesystem::exists(one, problem)) paths.push_back(one);
    else if (number && !options.minutes.empty()) options.minutes.push_back(std::stod(one));
    else return complain(one + ": there is no such file or directory; nothing was read"), false;
  }
  options.input.paths = std::move(paths);
  return true;
}

void run_learn(LearnOptions& options, CommandContext& context) {
  options.input.reading.stamped_end = options.stamp == "end";
  options.input.reading.guess_stamp = options.stamp == "auto";
  options.input.file.utc = options.zone == "utc";
  if (!options.show.empty()) return show(options, context);
  if (!sort_paths(options)) return void(context.exit = kBadInput);
  if (options.input.paths.empty())
    return complain("give files of bars or tapes, or --show SYMBOL"), void(context.exit = kUsage);
  const auto calendar = Calendar::load(options.calendar, {});
  if (!calendar) return complain(calendar.error().text), void(context.exit = kUsage);
  options.grade ? grade(options, **calendar, context) : learn_files(options, **calendar, context);
}

void add_reading_options(CLI::App& learn, LearnOptions& options) {
  learn
      .add_option("files", options.input.paths,
                  "Bars (minute, 15-minute, hour) or tapes; directories of them too; gzip and zstd are read")
      ->type_name("FILES");
  learn.add_option("--symbol", options.input.symbol,
                   "Whose bars they are (default: a symbol column, or the file's name)");
  learn.add_option("--calendar", options.calendar, "Exchange calendar")->type_name("MIC")->capture_default_str();
  learn.add_option("--zone", options.zone, "Zone of times without an offset")
      ->check(CLI::IsMember({"exchange", "utc"}))
      ->capture_default_str();
  learn
      .add_option(
          "--stamp", options.stamp,
          "What a bar's time is (auto: its start, unless none starts at the open and all days have one at the close)")
      ->check(CLI::IsMember({"auto", "start", "end"}))
      ->capture_default_str();
  learn
      .add_option("--bar", options.input.reading.bar_minutes,
                  "Minutes of a bar (default: the commonest distance of rows)")
      ->check(CLI::Range(1, 390));
  learn.add_option("--columns", options.input.file.columns, "Names of the columns of a file without a header")
      ->delimiter(',')
      ->allow_extra_args(false);
}

}  // namespace

void add_learn(CLI::App& root, CommandContext& context) {
  auto options = std::make_shared<LearnOptions>();
  CLI::App* learn = root.add_subcommand(
      "learn",
      "Learn each symbol's usual course of volume from bars or tapes; --grade: how good the projection is on them");
  add_reading_options(*learn, *options);
  learn->add_option("--curves", options->curves, "File of learned curves (default: the place XDG gives)")
      ->type_name("FILE");
  learn->add_option("--show", options->show, "Draw the learned curve of a symbol")->type_name("SYMBOL");
  learn->add_flag("--grade", options->grade,
                  "Learn nothing: score the projection day by day, from day 51 on, without a look ahead");
  learn->add_option("--at", options->minutes, "Minutes since the open to grade at, e.g. 15,30,60")
      ->delimiter(',')
      ->allow_extra_args(false)
      ->check(CLI::Range(0.0, 1440.0));
  learn->add_option("--from", options->from, "First day to grade")->type_name("DATE");
  learn->add_flag("--cold", options->cold, "Grade with the default curve only, as for a symbol never seen before");
  learn
      ->add_option("--model", options->model,
                   "What to grade: the projection, or a published state-space model as a yardstick")
      ->check(CLI::IsMember({"remainder", "kalman"}))
      ->capture_default_str();
  learn->add_flag("--no-gap", options->no_gap, "Grade without the opening gap, as if prices were not known");
  learn->add_option("--hole", options->hole, "Grade with the feed blind between two minutes")
      ->expected(2)
      ->type_name("FROM TO");
  add_common(*learn, context, false);
  learn->footer(
      "Columns are found by name: date and bin_start, or datetime, or time; volume; open and close where there.\n"
      "Examples: brimwatch learn bars/*.csv      brimwatch learn --grade --at 15,60 -- KLVN.csv ORRI.csv");
  learn->callback([options, &context] { run_learn(*options, context); });
}

}  // namespace brimwatch
