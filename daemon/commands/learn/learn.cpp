// brimwatch learn: curves from bar files, and their picture. Its grades: learn_grade.cpp, learn_crossings.cpp.
#include "commands/learn/learn.h"

#include <cstdio>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "commands/progress.h"
#include "config/paths.h"
#include "session/calendar.h"
#include "terminal/terminal.h"
#include "volume/learning/learned_file.h"
#include "volume/picture.h"

namespace brimwatch {

void complain_of_learning(const std::string& text) { print_error("brimwatch learn: %s\n", text.c_str()); }

bool for_each_series(const LearnOptions& options, const Calendar& calendar, CommandContext& context,
                     const std::function<void(const BarSeries&)>& use) {
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
      complain_of_learning(told);
    });
    if (!options.grade || !all) progress.clear();  // lines of the result come now
    if (!all) {
      complain_of_learning(all.error().text);
      context.exit = kBadInput;
      continue;
    }
    for (const BarSeries& series : *all) use(series);
    any = true;
  }
  return any;
}

std::function<bool(const SessionBars&)> grades_day(const LearnOptions& options) {
  const auto from = options.from.empty() ? std::optional<Date>() : parse_date(options.from);
  return [from](const SessionBars& day) { return !from || !day.dated() || Date{day.day} >= *from; };
}

namespace {

/// What bars cannot teach stays as the daemon learned it.
void keep_ratio(Learned& learned, const Learned& old) {
  learned.ratios = old.ratios;
  learned.ratio_count = old.ratio_count;
  learned.ratio_days = old.ratio_days;
  renew_ratio(learned);
}

std::string curves_path(const LearnOptions& options) {
  return options.curves.empty() ? places().learned() : options.curves;
}

void learn_files(const LearnOptions& options, const Calendar& calendar, CommandContext& context) {
  const std::string path = curves_path(options);
  auto curves = read_learned(path);
  if (!curves) return complain_of_learning(curves.error().text), void(context.exit = kBadInput);
  std::size_t learned_days = 0, symbols = 0;
  const bool done = for_each_series(options, calendar, context, [&](const BarSeries& series) {
    Learned learned = walk_days(series, {}, [](const SessionBars&, const GradedForecast&) {});
    if (learned.days == 0)
      return complain_of_learning(series.symbol + ": no full session in its bars; nothing was learned");
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
    return complain_of_learning(path.substr(0, slash) + ": the folder cannot be made"), void(context.exit = kFailed);
  }
  if (Status status = write_learned(path, *curves); !status)
    return complain_of_learning(status.error().text), void(context.exit = kFailed);
  print_out("%zu curve%s from %zu days written to %s; see one with: brimwatch learn --show SYMBOL\n", symbols,
            symbols == 1 ? "" : "s", learned_days, path.c_str());
}

void show(const LearnOptions& options, CommandContext& context) {
  const std::string path = curves_path(options);
  const auto curves = read_learned(path);
  if (!curves) return complain_of_learning(curves.error().text), void(context.exit = kBadInput);
  const auto found = curves->find(options.show);
  if (found != curves->end()) return void(write_text(stdout, draw_curve(options.show, found->second)));
  complain_of_learning(path + " has no curve of " + options.show + "; learn one with: brimwatch learn " + options.show +
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
    else return complain_of_learning(one + ": there is no such file or directory; nothing was read"), false;
  }
  options.input.paths = std::move(paths);
  return true;
}

/// False, and told, where there is no such zone.
bool set_zone(LearnOptions& options) {
  options.input.file.utc = options.zone == "utc" || options.zone == "UTC";
  if (options.zone == "exchange" || options.input.file.utc) return true;
  auto zone = LocalTime::of(options.zone);
  if (!zone) {
    complain_of_learning("--zone: " + zone.error().text + " Allowed: exchange, utc, or a name such as America/Chicago");
    return false;
  }
  options.input.file.zone = *zone;
  return true;
}

void run_learn(LearnOptions& options, CommandContext& context) {
  options.input.reading.stamped_end = options.stamp == "end";
  options.input.reading.guess_stamp = options.stamp == "auto";
  if (!set_zone(options)) return void(context.exit = kUsage);
  if (!options.show.empty()) return show(options, context);
  if (!sort_paths(options)) return void(context.exit = kBadInput);
  if (options.input.paths.empty())
    return complain_of_learning("give files of bars or tapes, or --show SYMBOL"), void(context.exit = kUsage);
  const auto calendar = Calendar::load(options.calendar, {});
  if (!calendar) return complain_of_learning(calendar.error().text), void(context.exit = kUsage);
  if (options.at_crossings) return grade_crossings(options, **calendar, context);
  options.grade ? grade_minutes(options, **calendar, context) : learn_files(options, **calendar, context);
}

void add_reading_options(CLI::App& learn, LearnOptions& options) {
  learn
      .add_option("files", options.input.paths,
                  "Bars (minute, 15-minute, hour) or tapes; directories of them too; gzip and zstd are read")
      ->type_name("FILES");
  learn
      .add_option("--symbol", options.input.symbol, "Whose bars they are (default: a symbol column, or the file's name)")
      ->type_name("SYMBOL");
  learn.add_option("--calendar", options.calendar, "Exchange calendar")->type_name("MIC")->capture_default_str();
  learn
      .add_option("--zone", options.zone,
                  "Zone of times without an offset: exchange, utc, or a name such as America/Chicago")
      ->type_name("ZONE")
      ->capture_default_str();
  learn
      .add_option("--stamp", options.stamp,
                  "What a bar's time is (auto: its start, unless the bars of all days show that it is their end)")
      ->check(CLI::IsMember({"auto", "start", "end"}))
      ->capture_default_str();
  learn
      .add_option("--bar", options.input.reading.bar_minutes,
                  "Minutes of a bar (default: the commonest gap between rows)")
      ->check(CLI::Range(1, 390));
  learn.add_option("--columns", options.input.file.columns, "Names of the columns of a file without a header")
      ->delimiter(',')
      ->allow_extra_args(false);
}

}  // namespace

void add_learn(CLI::App& root, CommandContext& context) {
  auto options = std::make_shared<LearnOptions>();
  CLI::App* learn = root.add_subcommand(
      "learn", "Learn each symbol's volume curve from bars or tapes; --grade scores the projection on them");
  add_reading_options(*learn, *options);
  learn->add_option("--curves", options->curves, "File of learned curves (default: the place XDG gives)")
      ->type_name("FILE");
  learn->add_option("--show", options->show, "Draw the learned curve of a symbol")->type_name("SYMBOL");
  learn->add_flag("--grade", options->grade,
                  "Learn nothing: score the projection day by day, from day 51 on, without look-ahead");
  const auto crossings = learn->add_flag(
      "--at-crossings", options->at_crossings,
      "With --grade: grade the odds where notices are made, when a price first reaches its high of many sessions");
  crossings->needs(learn->get_option("--grade"));
  learn->add_option("--high", options->high, "Sessions of that high")
      ->type_name("N")
      ->check(CLI::Range(2, 250))
      ->needs(crossings)
      ->capture_default_str();
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
  learn
      ->add_option("--without", options->without,
                   "Grade without a part of the model, to see what it does; may be repeated")
      ->allow_extra_args(false)
      ->check(CLI::IsMember({"weekday", "thinness", "crossing"}));
  learn->add_option("--hole", options->hole, "Grade with the feed blind between two minutes")
      ->expected(2)
      ->type_name("FROM TO");
  add_common(*learn, context, false, About::settings);
  learn->footer(
      "Columns are found by name: date and bin_start, or datetime, or time; volume; open and close if present.\n"
      "Examples: brimwatch learn bars/*.csv      brimwatch learn --grade --at 15,60 -- KLVN.csv ORRI.csv\n"
      "          brimwatch learn --grade --at-crossings minutes/");
  learn->callback([options, &context] { run_learn(*options, context); });
}

}  // namespace brimwatch
