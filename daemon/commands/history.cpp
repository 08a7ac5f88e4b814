// brimwatch history: daily bars from their source, what is doubtful in them, and a split taken into the lists.
#include <sys/resource.h>

#include <algorithm>
#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <cstdio>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include "app/history_round.h"
#include "commands/command.h"
#include "commands/load.h"
#include "commands/progress.h"
#include "config/loader.h"
#include "config/paths.h"
#include "config/symbol_meant.h"
#include "core/text/json.h"
#include "files/own_files.h"
#include "files/text_file.h"
#include "history/clock.h"
#include "history/survey.h"
#include "history/take_split.h"
#include "live/usable.h"
#include "loop/clock.h"
#include "session/calendar.h"
#include "session/session_days.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

struct HistoryPlace {
  Settings settings;
  std::shared_ptr<const Calendar> calendar;
  Date last_session;
};

std::optional<HistoryPlace> history_place(CommandContext& context) {
  auto settings = load_or_tell(context);
  if (!settings) return context.exit = kBadConfig, std::nullopt;
  const auto calendar = Calendar::load(settings->session.calendar, settings->session.calendar_files);
  if (!calendar) return complain(context, "history", calendar.error().text, kBadConfig), std::nullopt;
  const auto last =
      last_session_over(**calendar, wall_now(), static_cast<Nanos>(settings->history.fetch_after) * kMinute);
  if (!last) return complain(context, "history", "the calendar has no session that is over", kBadConfig), std::nullopt;
  return HistoryPlace{std::move(*settings), *calendar, *last};
}

// --- update

OrderedJson to_json(const SymbolUpdate& update) {
  OrderedJson out;
  out["symbol"] = update.symbol;
  out["changed"] = update.words;
  out["error"] = update.error.empty() ? OrderedJson(nullptr) : OrderedJson(update.error);
  out["rows"] = update.rows;
  out["last"] = update.rows > 0 ? OrderedJson(to_string(update.last)) : OrderedJson(nullptr);
  out["split"] = update.split != 1 ? OrderedJson(split_text(update.split)) : OrderedJson(nullptr);
  out["remarks"] = update.remarks;
  return out;
}

/// Lines as they come; what was chosen in reading is said once, whichever answer it was.
class UpdateTeller {
 public:
  UpdateTeller(const Settings& settings, bool json) : settings_(settings), json_(json) {}

  void tell(const SymbolUpdate& update) {
    progress_.clear();
    if (json_) {
      write_json(stdout, to_json(update).dump() + "\n");
      return;
    }
    for (const std::string& remark : update.remarks)
      if (said_.insert(remark).second) print_out("in the source's answer: %s\n", remark.c_str());
    const std::string name = update.symbol.empty() ? "all symbols" : update.symbol;
    if (!update.error.empty()) {
      print_error("%s: %s\n", name.c_str(), update.error.c_str());
      return;
    }
    if (update.words.empty()) return;
    print_out("%s: %s; %d days, the last %s\n", name.c_str(), update.words.c_str(), update.rows,
              to_string(update.last).c_str());
    if (update.split != 1) tell_split(update);
  }

  void show(std::size_t done, std::size_t all) {
    if (progress_.due() && all > 0)
      progress_.show({done, "symbols", static_cast<double>(done) / static_cast<double>(all), 0, ""});
  }

 private:
  void tell_split(const SymbolUpdate& update) const {
    const auto watches = watches_after_split(settings_, update.symbol, update.split);
    if (watches.empty()) return;
    print_out("%s: as a %s split its %s; nothing was changed: brimwatch history split %s %s shows and --take takes it\n",
              update.symbol.c_str(), split_text(update.split).c_str(), in_words(watches).c_str(), update.symbol.c_str(),
              split_text(update.split).c_str());
  }

  const Settings& settings_;
  const bool json_;
  std::set<std::string> said_;
  ProgressLine progress_;
};

double cpu_seconds() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return static_cast<double>(usage.ru_utime.tv_sec + usage.ru_stime.tv_sec) +
         static_cast<double>(usage.ru_utime.tv_usec + usage.ru_stime.tv_usec) / 1e6;
}

void tell_end(const HistoryRoundResult& result, CommandContext& context) {
  if (!result.whole()) context.exit = kFailed;
  if (!context.json) {
    print_out("%s; %.1f s of CPU\n", in_words(result).c_str(), cpu_seconds());
    return;
  }
  OrderedJson out;
  out["symbols"] = result.symbols;
  out["updated"] = result.changed;
  out["failed"] = result.failures;
  out["requests"] = result.counts.requests;
  out["put_off"] = result.counts.refused;
  out["asked_again"] = result.counts.again;
  out["events"] = result.event_words;
  out["splits_failed"] = result.splits_failed;
  out["reports_failed"] = result.reports_failed;
  out["cpu_seconds"] = cpu_seconds();
  write_json(stdout, out.dump() + "\n");
}

void run_update(const std::vector<std::string>& named, bool missing, CommandContext& context) {
  const auto place = history_place(context);
  if (!place) return;
  std::vector<std::string> symbols;
  for (const std::string& one : named) symbols.push_back(symbol_meant(place->settings.watches, one));
  const HistorySettings& history = place->settings.history;
  const bool events = history.splits_source.is_set() || history.earnings_source.is_set();
  if (!history.source.is_set() && !events)
    return void(complain(context, "history", "[history.source] names no url to fetch from", kBadConfig));
  if (history.source.is_set() && history.daily.empty())
    return void(complain(context, "history", "[history] names no folder `daily` to put the days into", kBadConfig));
  boost::asio::io_context io{1};
  HistoryRound round({io, wall_now,
                      [&io](const std::function<void()>& job, std::function<void()> then) {
                        job();
                        boost::asio::post(io, std::move(then));
                      }},
                     std::make_shared<const Settings>(place->settings));
  UpdateTeller teller(place->settings, context.json);
  std::size_t done = 0;
  const std::size_t all = symbols.empty() ? symbols_to_update(place->settings).size() : symbols.size();
  round.start(
      {symbols, place->last_session, missing},
      [&](const SymbolUpdate& update) {
        teller.tell(update);
        teller.show(++done, all);
      },
      [&](const HistoryRoundResult& result) { tell_end(result, context); });
  io.run();
}

// --- check

OrderedJson to_json(const SurveyRow& row) {
  OrderedJson out;
  out["symbol"] = row.symbol;
  out["file"] = row.file;
  out["rows"] = row.rows;
  out["heard"] = row.own;
  out["first"] = row.rows > 0 ? OrderedJson(to_string(row.first)) : OrderedJson(nullptr);
  out["last"] = row.rows > 0 ? OrderedJson(to_string(row.last)) : OrderedJson(nullptr);
  out["problem"] = row.problem.empty() ? OrderedJson(nullptr) : OrderedJson(row.problem);
  OrderedJson findings = OrderedJson::array();
  for (const BarFinding& one : row.findings)
    findings.push_back(
        {{"fault", to_string(one.fault)}, {"day", to_string(one.day)}, {"count", one.count}, {"text", one.text}});
  out["findings"] = findings;
  return out;
}

std::string survey_words(const SurveyRow& row) {
  std::string words = in_words(row.findings);
  if (!row.problem.empty()) words += (words.empty() ? "" : "; ") + row.problem;
  return words;
}

std::string treatment_words(const BarChecks& checks) {
  const auto word = [](BarTreatment one) {
    return one == BarTreatment::use ? "used" : one == BarTreatment::doubt ? "used, and said" : "left out";
  };
  std::string out = "What is done ([history.checks]): ";
  out += std::string("spikes ") + word(checks.spike) + "; rows before an unreported split " + word(checks.split) +
         "; halts and days without volume " + word(checks.still) + "; repeats " + word(checks.repeat) +
         "; another symbol's rows " + word(checks.other);
  return out;
}

void show_survey(const Survey& found, const BarChecks& checks, bool all, const CommandContext& context) {
  if (context.json) {
    for (const SurveyRow& row : found.rows)
      if (all || !survey_words(row).empty()) write_json(stdout, to_json(row).dump() + "\n");
    if (!found.passed_over.empty()) print_error("%s\n", found.passed_over.c_str());
    return;
  }
  for (const SurveyRow& row : found.rows) {
    const std::string words = survey_words(row);
    if (!words.empty()) print_out("%s: %s\n", row.symbol.c_str(), words.c_str());
    else if (all)
      print_out("%s: sound, %d days, %s to %s\n", row.symbol.c_str(), row.rows, to_string(row.first).c_str(),
                to_string(row.last).c_str());
  }
  for (const auto& [choice, files] : found.choices)
    print_out("in reading: %s (%d %s)\n", choice.c_str(), files, files == 1 ? "file" : "files");
  if (!found.passed_over.empty()) print_out("%s\n", found.passed_over.c_str());
  print_out("%zu %s, %zu days: %d doubtful, %d unreadable\n", found.rows.size(),
            found.rows.size() == 1 ? "symbol" : "symbols", found.bars, found.doubtful, found.unreadable);
  if (found.doubtful > 0) print_out("%s\n", treatment_words(checks).c_str());
}

void add_told_splits(const HistorySettings& history, SurveyInput& input, CommandContext& context) {
  const auto text =
      history.splits.empty() || !is_there(history.splits) ? Result<std::string>("") : read_file(history.splits);
  if (text && text->empty()) return;
  auto events = text ? parse_price_events(*text, history.splits) : Result<PriceEvents>(tl::unexpected(text.error()));
  if (events) input.events = std::move(*events);
  else complain(context, "history", events.error().text, kBadInput);
}

void run_check_of_bars(const std::vector<std::string>& symbols, const std::string& given, bool all,
                       CommandContext& context) {
  const auto place = history_place(context);
  if (!place) return;
  SurveyInput input;
  input.daily = given.empty() ? place->settings.history.daily : given;
  if (input.daily.empty())
    return void(
        complain(context, "history", "[history] names no `daily` to look at; name a folder by --daily", kBadConfig));
  input.symbols = {symbols.begin(), symbols.end()};
  input.checks = place->settings.history.checks;
  input.last_session = place->last_session;
  input.sessions = session_days(*place->calendar);
  add_told_splits(place->settings.history, input, context);
  ProgressLine progress;
  input.on_progress = [&progress](std::size_t done, std::size_t files) {
    if (progress.due()) progress.show({done, "files", static_cast<double>(done) / static_cast<double>(files), 0, ""});
  };
  const auto found = survey(input);
  progress.clear();
  if (!found) return void(complain(context, "history", found.error().text, kBadInput));
  show_survey(*found, input.checks, all, context);
  if (found->unreadable > 0) context.exit = kBadInput;
}

// --- split

/// Every list that holds the symbol, in new prices; all are written, or none where one cannot be made.
void take_split(const Settings& settings, const std::string& symbol, double ratio, CommandContext& context) {
  std::set<std::uint16_t> files;
  for (std::size_t i = 0; i < settings.watches.size(); ++i)
    if (settings.watches.symbol(i) == symbol) files.insert(settings.watches[i].file);
  std::vector<std::pair<std::string, std::string>> texts;  // path, new text
  for (const std::uint16_t file : files) {
    const std::string& path = settings.files[file];
    const auto text = read_file(path);
    auto changed =
        text ? with_split(*text, settings, file, symbol, ratio) : Result<std::string>(tl::unexpected(text.error()));
    if (!changed) return void(complain(context, "history", changed.error().text + "; nothing was written", kFailed));
    texts.emplace_back(path, std::move(*changed));
  }
  for (const auto& [path, text] : texts) {
    const auto before = read_file(path);
    const auto kept = before ? write_output(path + ".old", *before) : Status(tl::unexpected(before.error()));
    const auto written = kept ? write_output(path, text) : kept;
    if (!written) return void(complain(context, "history", written.error().text, kFailed));
    print_out("wrote %s; the one before is %s.old\n", path.c_str(), path.c_str());
  }
  const Loaded again = load_settings(config_file(context.config), usable());
  for (const Problem& problem : again.problems) print_error("%s\n", to_string(problem).c_str());
  if (!again.ok())
    return void(complain(context, "history", "the new list cannot be loaded; put the .old one back", kFailed));
  print_out("A running daemon takes it at its next reload (SIGHUP)\n");
}

void run_split(const std::string& named, const std::string& text, bool take, CommandContext& context) {
  const auto ratio = parse_split_ratio(text);
  if (!ratio)
    return void(complain(context, "history",
                         "found \"" + text + "\", expected new shares for old ones such as 2:1, 3:2 or 1:10", kUsage));
  const auto settings = load_or_tell(context);
  if (!settings) return void(context.exit = kBadConfig);
  const std::string symbol = symbol_meant(settings->watches, named);
  const auto watches = watches_after_split(*settings, symbol, *ratio);
  if (watches.empty()) return void(complain(context, "history", "no watch of " + symbol, kUsage));
  if (!context.json)
    print_out("%s as a %s split: %s\n", symbol.c_str(), split_text(*ratio).c_str(), in_words(watches).c_str());
  for (const SplitWatch& one : watches) {
    if (!context.json) break;
    const OrderedJson row{{"symbol", symbol},
                          {"split", split_text(*ratio)},
                          {"pivot", one.pivot_before.as_double()},
                          {"new_pivot", one.pivot.as_double()},
                          {"range_top", one.range_top.as_double()},
                          {"loss_limit", one.loss_limit.as_double()}};
    write_json(stdout, row.dump() + "\n");
  }
  if (take) return take_split(*settings, symbol, *ratio, context);
  if (!context.json) print_out("Nothing was changed; --take writes it into its list\n");
}

struct HistoryOptions {
  std::vector<std::string> symbols;
  std::string daily, symbol, ratio;
  bool missing = false, all = false, take = false;
};

}  // namespace

void add_history(CLI::App& root, CommandContext& context) {
  auto options = std::make_shared<HistoryOptions>();
  CLI::App* command = root.add_subcommand("history", "Daily bars: fetch them, check them, apply a split");
  command->require_subcommand(1);

  CLI::App* update = command->add_subcommand("update", "Fetch missing daily bars, splits and report dates");
  add_common(*update, context);
  update->add_option("symbols", options->symbols, "These only (default: every watch, and the index)")
      ->type_name("SYMBOL");
  update->add_flag("--missing", options->missing, "Ask only for symbols that lack the last session");
  update->footer(
      "[history.source] says where from, [history.splits_source] and [history.earnings_source] for splits and report "
      "dates. No row is ever lost; past rows that the source has changed are reported, and a file that Brimwatch did not "
      "write stays as FILE.old. Exits with 1 if something could not be fetched; what was there is then kept.\n\n"
      "Examples:\n  brimwatch history update\n  brimwatch history update KLVN NIVO --missing");
  update->callback([options, &context] { run_update(options->symbols, options->missing, context); });

  CLI::App* check = command->add_subcommand("check", "Name doubtful daily bars, and say how files were read");
  add_common(*check, context);
  check->add_option("symbols", options->symbols, "These only (default: every file)")->type_name("SYMBOL");
  check->add_option("--daily", options->daily, "Look here (default: [history] daily)")->type_name("FOLDER|FILE");
  check->add_flag("--all", options->all, "Name the sound ones too");
  check->footer(
      "It looks for prices far from their neighbours, unreported splits, sessions without a row, days without "
      "volume, repeated rows, rows of another symbol, rows that end early. [history.checks] says what is done with "
      "each: "
      "used, used and reported, or left out. Exits with 4 if a file cannot be read.");
  check->callback([options, &context] { run_check_of_bars(options->symbols, options->daily, options->all, context); });

  CLI::App* split = command->add_subcommand("split", "Show what a split does to a watch; --take writes it into its list");
  add_common(*split, context);
  split->add_option("symbol", options->symbol, "The watch's symbol")->required()->type_name("SYMBOL");
  split->add_option("ratio", options->ratio, "New shares for old ones: 2:1, 3:2, 1:10")->required()->type_name("RATIO");
  split->add_flag("--take", options->take,
                  "Write pivot, peak and normal volume in post-split terms; the old list stays as FILE.old");
  split->footer(
      "Without --take nothing is changed. Take it only once: a second time would be a second split. The old list is "
      "FILE.old.\n\nExamples:\n  brimwatch history split KLVN 2:1\n  brimwatch history split KLVN 1:10 --take");
  split->callback([options, &context] { run_split(options->symbol, options->ratio, options->take, context); });
}

}  // namespace brimwatch
