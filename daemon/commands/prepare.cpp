// brimwatch prepare: watches from daily bars.
#include "weekend/prepare.h"

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "commands/answers/without_daemon.h"
#include "commands/command.h"
#include "commands/progress.h"
#include "config/loader.h"
#include "config/paths.h"
#include "files/own_files.h"
#include "files/text_file.h"
#include "loop/clock.h"
#include "session/calendar.h"
#include "session/session_days.h"
#include "terminal/terminal.h"
#include "weekend/carry.h"
#include "weekend/grade.h"
#include "weekend/list.h"
#include "weekend/picture.h"

namespace brimwatch {
namespace {

constexpr std::size_t kFewNotListed = 5;  // so many are told without being asked for

struct PrepareOptions {
  std::vector<std::string> places;
  std::string index, as_of, out, splits, earnings, symbol, base_start, handle_start, rules, pictures, carry;
  std::vector<std::string> set;
  bool all = false, show_rules = false, why = false, grade = false, fit = false;
};

/// A day from the command line; unset when the option was not given.
bool read_day(const std::string& option, const std::string& text, std::optional<Date>& into, CommandContext& context) {
  if (text.empty()) return true;
  into = parse_date(text);
  if (into) return true;
  complain(context, "prepare", option + ": found \"" + text + "\", expected a day such as 2026-11-20", kUsage);
  return false;
}

template <typename T, typename Parse>
bool read_table(const std::string& path, T& into, Parse parse, int code, CommandContext& context) {
  if (path.empty()) return true;
  const auto text = read_file(path);
  auto table = text ? parse(*text, path) : Result<T>(tl::unexpected(text.error()));
  if (!table) {
    complain(context, "prepare", table.error().text, code);
    return false;
  }
  into = std::move(*table);
  return true;
}

bool read_names(const PrepareOptions& options, PrepareInput& input, CommandContext& context) {
  if (options.symbol.empty() && options.base_start.empty() && options.handle_start.empty()) return true;
  if (options.symbol.empty() || (options.base_start.empty() && !options.handle_start.empty())) {
    complain(context, "prepare", "--base-start goes with --symbol, and --handle-start with both", kUsage);
    return false;
  }
  input.symbol = options.symbol;
  if (options.base_start.empty()) return true;
  std::optional<Date> start;
  NamedPoints named{options.symbol, {}, {}};
  if (!read_day("--base-start", options.base_start, start, context)) return false;
  if (!read_day("--handle-start", options.handle_start, named.handle_start, context)) return false;
  named.base_start = *start;
  input.named = named;
  return true;
}

/// The main file, where there is one; what the command line says wins over it. Its watch lists are not read: the list
/// that is being prepared may be among them.
std::optional<Settings> settings_of(CommandContext& context) {
  const std::string file = config_file(context.config);
  std::error_code error;
  if (context.config.empty() && !std::filesystem::exists(file, error)) return std::make_optional<Settings>();
  LoadOptions how;
  how.lists = false;
  Loaded loaded = load_settings(file, how);
  for (const Problem& problem : loaded.problems) complain(context, "prepare", to_string(problem), kBadConfig);
  if (!loaded.ok()) return std::nullopt;
  return std::move(loaded.settings);
}

void take_over(const Settings& settings, PrepareOptions& options) {
  if (options.places.empty() && !settings.history.daily.empty()) options.places = {settings.history.daily};
  if (options.index.empty()) options.index = settings.market.index;
  if (options.splits.empty()) options.splits = settings.history.splits;
  if (options.earnings.empty()) options.earnings = settings.history.earnings;
}

/// The rules in force: the configuration's, then the file's, then single ones.
bool read_rules(const PrepareOptions& options, RuleBook& book, CommandContext& context) {
  const auto parse = [&](const std::string& text, const std::string& name) { return parse_rules(text, name, book); };
  RuleBook read = book;
  if (!read_table(options.rules, read, parse, kBadConfig, context)) return false;
  book = read;
  for (const std::string& one : options.set) {
    if (const auto done = set_rule(book, one); !done) {
      complain(context, "prepare", "--set: " + done.error().text, kUsage);
      return false;
    }
  }
  return true;
}

std::optional<PrepareInput> input_of(const PrepareOptions& options, const RuleBook& book, CommandContext& context) {
  PrepareInput input;
  input.book = book;
  input.places = options.places;
  input.index = options.index;
  input.all = options.all;
  input.keep_bars = !options.pictures.empty();
  if (options.places.empty())
    return complain(context, "prepare", "name files or directories of daily bars, or give [history] daily", kUsage);
  if (!read_day("--as-of", options.as_of, input.as_of, context)) return std::nullopt;
  if (!read_names(options, input, context)) return std::nullopt;
  if (!read_table(options.splits, input.events, parse_price_events, kBadInput, context)) return std::nullopt;
  if (!read_table(options.earnings, input.reports, parse_report_dates, kBadInput, context)) return std::nullopt;
  return input;
}

/// The exchange's sessions and the last that is over; none where its calendar cannot be had, which is not this command's
/// to judge.
void add_calendar(const SessionSettings& session, PrepareInput& input) {
  const auto calendar = Calendar::load(session.calendar, session.calendar_files);
  if (!calendar) return;
  input.last_over = last_session_over(**calendar, wall_now(), 0);
  input.sessions = session_days(**calendar);
  input.half_days = half_days(**calendar);
}

bool write_file(const std::string& path, const std::string& text, CommandContext& context) {
  const Status written = write_output(path, text);
  if (!written) complain(context, "prepare", written.error().text, kFailed);
  return written.has_value();
}

/// DIR/SYMBOL.svg; a second base of one symbol becomes SYMBOL-2.svg.
bool write_pictures(const Prepared& prepared, const std::string& directory, double range, CommandContext& context) {
  std::error_code error;
  std::filesystem::create_directories(directory, error);
  std::map<std::string, int> seen;
  for (const Candidate& one : prepared.candidates) {
    const int count = ++seen[one.symbol];
    const std::string name = count == 1 ? one.symbol : one.symbol + "-" + std::to_string(count);
    if (!write_file((std::filesystem::path(directory) / (name + ".svg")).string(), base_picture(one, range), context))
      return false;
  }
  return true;
}

/// `before`: where the list lies that stood there; empty: there was none, or the same.
void print(const Prepared& prepared, const PrepareOptions& options, const RuleBook& book, const std::string& before,
           const CommandContext& context) {
  for (const std::string& problem : prepared.problems) print_error("brimwatch prepare: %s\n", problem.c_str());
  if (context.json) {
    for (const Candidate& one : prepared.candidates) write_json(stdout, to_json(one, prepared, book) + "\n");
    if (options.why) {
      for (const NotListed& one : prepared.not_listed) write_json(stdout, to_json(one) + "\n");
    }
    return;
  }
  const bool few = prepared.candidates.size() <= 3 || !options.symbol.empty();
  if (few) {
    for (const Candidate& one : prepared.candidates) print_out("%s\n", in_words(one, prepared.odds).c_str());
  } else {
    write_text(stdout, overview(prepared, book.show));
  }
  const bool tell = options.why || prepared.not_listed.size() <= kFewNotListed;
  if (tell) write_text(stdout, not_listed(prepared));
  print_out("%s\n", summary(prepared).c_str());
  if (!tell) print_out("--why says of each of the %zu others why it is not listed\n", prepared.not_listed.size());
  if (options.out.empty()) return;
  const std::string kept = before.empty() ? "" : "; the one before is " + before;
  print_out("wrote %s%s\nInformation, not advice: look at each chart before you use it\n", options.out.c_str(),
            kept.c_str());
}

/// The old list's text; empty text when none is to be carried.
bool read_old(const PrepareOptions& options, std::string& text, std::vector<std::string>& symbols,
              CommandContext& context) {
  if (!read_table(
          options.carry, text, [](const std::string& read, const std::string&) { return Result<std::string>(read); },
          kBadInput, context)) {
    return false;
  }
  return read_table(options.carry, symbols, symbols_of, kBadConfig, context);
}

/// A list may hold a person's own words: one that differs stays beside the new one, under the name left in `before`.
bool write_list(const std::string& path, const std::string& list, std::string& before, CommandContext& context) {
  std::error_code error;
  const auto there = std::filesystem::is_regular_file(path, error) ? read_file(path) : Result<std::string>("");
  if (!there) return complain(context, "prepare", there.error().text, kFailed), false;
  if (!there->empty() && *there != list) {
    std::filesystem::copy_file(path, path + ".old", std::filesystem::copy_options::overwrite_existing, error);
    if (error) {
      complain(context, "prepare", path + ".old: " + error.message() + "; nothing was written", kFailed);
      return false;
    }
    before = path + ".old";
  }
  return write_file(path, list, context);
}

/// Writes what was asked for; false when something could not be written.
bool write_all(const Prepared& prepared, const PrepareInput& input, const PrepareOptions& options, const std::string& old,
               double range, std::string& before, CommandContext& context) {
  std::string list = options.out.empty() ? "" : watch_list(prepared, input.book);
  if (!options.carry.empty()) {
    const auto carried = carry(old, options.carry, prepared, input);
    if (!carried) {
      complain(context, "prepare", carried.error().text, kBadConfig);
      return false;
    }
    list = carried->list;
    if (!context.json) print_out("%s\n", in_words(carried->changes).c_str());
  }
  if (!options.out.empty() && !write_list(options.out, list, before, context)) return false;
  return options.pictures.empty() || write_pictures(prepared, options.pictures, range, context);
}

/// --grade and --fit: the odds against the user's own bars.
void run_grade(PrepareInput input, const PrepareOptions& options, CommandContext& context) {
  ProgressLine progress;
  input.on_progress = [&progress](std::size_t done, std::size_t files) {
    if (progress.due()) progress.show({done, "files", static_cast<double>(done) / static_cast<double>(files), 0, ""});
  };
  const auto graded = grade(input);
  progress.clear();
  if (!graded) return void(complain(context, "prepare", graded.error().text, kBadInput));
  if (options.grade) {
    const OddsBook odds = odds_book(input.book);
    context.json ? write_json(stdout, to_json(*graded, odds) + "\n") : write_text(stdout, in_words(*graded, odds) + "\n");
  }
  if (!options.fit) return;
  const auto rules = fitted_rules(*graded);
  if (!rules) return void(complain(context, "prepare", "--fit: " + rules.error().text, kFailed));
  if (options.out.empty()) return void(write_verbatim(stdout, *rules));
  std::string before;
  if (!write_list(options.out, *rules, before, context) || context.json) return;
  print_out("wrote %s; use it by --rules %s, or put its keys into [prepare]\n", options.out.c_str(), options.out.c_str());
}

void tell_answers(const Prepared& prepared, const std::string& journal) {
  std::vector<WatchKey> listed;
  for (const Candidate& one : prepared.candidates) listed.push_back({one.symbol, one.facts.pivot});
  for (const std::string& line : beside_list(answers_in(journal), listed)) print_error("%s\n", line.c_str());
}

void run(PrepareOptions options, CommandContext& context) {
  const auto settings = settings_of(context);
  if (!settings) return;
  take_over(*settings, options);
  RuleBook book = settings->prepare;
  if (!read_rules(options, book, context)) return;
  if (options.show_rules) {
    write_verbatim(stdout, to_toml(book));
    return;
  }
  auto input = input_of(options, book, context);
  std::string old;
  std::vector<std::string> symbols;
  if (!input || !read_old(options, old, symbols, context)) return;
  add_calendar(settings->session, *input);
  input->checks = settings->history.checks;
  if (options.grade || options.fit) return run_grade(std::move(*input), options, context);
  ProgressLine progress;
  input->on_progress = [&progress](std::size_t done, std::size_t files) {
    if (progress.due()) progress.show({done, "files", static_cast<double>(done) / static_cast<double>(files), 0, ""});
  };
  const auto prepared = prepare(*input, symbols);
  progress.clear();
  if (!prepared) {
    complain(context, "prepare", prepared.error().text, kBadInput);
    return;
  }
  std::string before;
  tell_answers(*prepared, journal_of(*settings, ""));
  if (write_all(*prepared, *input, options, old, settings->rules.range / 1e6, before, context))
    print(*prepared, options, input->book, before, context);
}

}  // namespace

void add_prepare(CLI::App& root, CommandContext& context) {
  auto options = std::make_shared<PrepareOptions>();
  CLI::App* command = root.add_subcommand("prepare", "Find bases in daily bars and write a watch list");
  add_common(*command, context);
  command
      ->add_option("places", options->places,
                   "Files SYMBOL.csv of daily bars, or directories of them (default: [history] daily)")
      ->type_name("FILE|DIR");
  command->add_option("--index", options->index, "Daily bars of an index, for relative strength and market falls")
      ->type_name("FILE");
  command->add_option("--as-of", options->as_of, "Treat this as the last day (default: the last bar's)")
      ->type_name("DAY");
  command->add_option("-o,--out", options->out, "Write the watch list here; a different one there is kept as FILE.old")
      ->type_name("FILE");
  command->add_option("--splits", options->splits, "Splits and dividends: date,symbol,ratio,dividend")->type_name("FILE");
  command->add_option("--earnings", options->earnings, "Report dates: date,symbol")->type_name("FILE");
  command->add_option("--symbol", options->symbol, "Only this symbol; with the dates below, compute and check that base");
  command->add_option("--base-start", options->base_start, "First day of that base: its high")->type_name("DAY");
  command->add_option("--handle-start", options->handle_start, "Day of the handle's high, or of the middle peak")
      ->type_name("DAY");
  command->add_option("--rules", options->rules, "Rules of thumb (TOML) that override the configuration's [prepare]")
      ->type_name("FILE");
  command->add_option("--set", options->set, "One rule of thumb, e.g. rise_least=25; overrides both")
      ->allow_extra_args(false)
      ->type_name("NAME=NUMBER");
  command
      ->add_option("--carry", options->carry,
                   "Carry this list forward: what expired, broke or moved, and why; your notes stay")
      ->type_name("FILE");
  command->add_option("--pictures", options->pictures, "Draw each base listed into this directory (SVG)")
      ->type_name("DIR");
  command->add_flag("--all", options->all, "Every shape found, whichever rules it breaks, and plain highs");
  command->add_flag("--why", options->why, "A line for each file without a base listed, with the reason");
  command->add_flag("--grade", options->grade,
                    "Grade the odds on these bars: those of past crossings against what followed");
  command->add_flag("--fit", options->fit,
                    "Fit odds to these bars, shrunk towards the shipped ones: rules for --out, or printed");
  command->add_flag("--show-rules", options->show_rules, "Print all rules in force with their meaning, ready to edit");
  command->footer(
      "Example: brimwatch prepare history/ --index history/INDEX.csv --out weekend.toml --pictures charts/\n"
      "With a configuration, its [prepare], [history] and [market] give what the command line does not.");
  command->callback([options, &context] { run(*options, context); });
}

}  // namespace brimwatch
