// brimwatch review: what held, what did not, how good the odds were; of the journal, or of recorded days replayed under
// one or two sets of rules.
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "app/review_pictures.h"
#include "commands/command.h"
#include "commands/journal/review_why.h"
#include "config/loader.h"
#include "config/paths.h"
#include "evening/compare.h"
#include "evening/gather.h"
#include "files/own_files.h"
#include "files/text_file.h"
#include "replay/rules_replay.h"
#include "session/calendar.h"
#include "terminal/terminal.h"
#include "weekend/prepare.h"

namespace brimwatch {
namespace {

struct ReviewCommand {
  std::vector<std::string> tapes, rules, journals;
  std::string day, from, to, history, splits, html, why, stamp = "start", zone = "exchange";
  double costs = 0.1;
  int late = 60, bar = 0;
};

struct Reviewed {
  std::string name;  ///< of the journal or the rules, for a person
  ReviewInput input;
  Review review;
};

struct Days {
  std::optional<Date> from, to;
};

bool read_day(const char* option, const std::string& text, std::optional<Date>& into, CommandContext& context) {
  if (text.empty()) return true;
  into = parse_date(text);
  if (into) return true;
  complain(context, "review", std::string(option) + ": found \"" + text + "\", expected a day such as 2026-11-20",
           kUsage);
  return false;
}

std::optional<Days> days_of(const ReviewCommand& options, CommandContext& context) {
  std::optional<Date> day;
  Days out;
  if (!read_day("--day", options.day, day, context) || !read_day("--from", options.from, out.from, context) ||
      !read_day("--to", options.to, out.to, context)) {
    return std::nullopt;
  }
  if (day && (out.from || out.to)) return complain(context, "review", "--day goes without --from and --to", kUsage);
  if (day) out.from = out.to = day;
  if (out.from && out.to && *out.from > *out.to) return complain(context, "review", "--from is after --to", kUsage);
  return out;
}

/// The main file under one set of rules; without it where none is needed, the defaults.
std::optional<Settings> settings_of(const std::string& rules, bool needed, CommandContext& context) {
  const std::string file = config_file(context.config);
  std::error_code error;
  if (!needed && context.config.empty() && !std::filesystem::exists(file, error)) return Settings{};
  LoadOptions how;
  how.calendars = Calendar::known();
  how.rules = rules;
  Loaded loaded = load_settings(file, how);
  for (const Problem& problem : loaded.problems) complain(context, "review", to_string(problem), kBadConfig);
  if (!loaded.ok()) return std::nullopt;
  return std::move(loaded.settings);
}

/// What the command line does not say comes from the configuration.
std::optional<ReviewSources> sources_of(const ReviewCommand& options, const Settings& settings, CommandContext& context) {
  ReviewSources out;
  out.history = options.history.empty() ? settings.history.daily : options.history;
  out.watches = review_watches(settings);
  out.index = settings.market.index;
  out.checks = settings.history.checks;
  out.sessions = review_sessions(settings);
  const std::string splits = options.splits.empty() ? settings.history.splits : options.splits;
  if (splits.empty()) return out;
  const auto text = read_file(splits);
  if (!text) return complain(context, "review", text.error().text, kBadInput);
  auto events = parse_price_events(*text, splits);
  if (!events) return complain(context, "review", events.error().text, kBadInput);
  out.events = std::move(*events);
  return out;
}

std::optional<Reviewed> review_of(const std::string& path, const ReviewSources& sources, const ReviewOptions& span,
                                  CommandContext& context) {
  const auto journal = Journal::open_read_only(path);
  if (!journal) return complain(context, "review", journal.error().text, kBadInput);
  auto gathered = gather(**journal, sources, span);
  if (!gathered) return complain(context, "review", gathered.error().text, kBadInput);
  for (const std::string& remark : gathered->remarks) print_error("brimwatch review: %s\n", remark.c_str());
  Reviewed out{path, std::move(gathered->input), {}};
  out.review = review(out.input);
  return out;
}

ReviewOptions span_of(const ReviewCommand& options, Date from, Date to) {
  ReviewOptions out;
  out.from = from;
  out.to = to;
  out.cost_percent = options.costs;
  out.late_seconds = options.late;
  return out;
}

/// The days asked for; without any, the last day that the journal holds.
std::optional<ReviewOptions> span_of(const ReviewCommand& options, const Days& days, const std::string& path,
                                     CommandContext& context) {
  Days out = days;
  if (!out.to) {
    const auto journal = Journal::open_read_only(path, {.check = false});
    if (!journal) return complain(context, "review", journal.error().text, kBadInput);
    const auto last = last_day(**journal);
    if (!last) return complain(context, "review", last.error().text, kBadInput);
    if (!*last) return complain(context, "review", "the journal holds no notice yet; nothing to review", kFailed);
    out.to = *last;
  }
  if (!out.from) out.from = out.to;
  if (*out.from > *out.to) return complain(context, "review", "--from is after the journal's last day", kUsage);
  return span_of(options, *out.from, *out.to);
}

std::optional<std::vector<Reviewed>> from_journals(const ReviewCommand& options, const Days& days,
                                                   CommandContext& context) {
  const auto settings = settings_of({}, false, context);
  if (!settings) return std::nullopt;
  const auto sources = sources_of(options, *settings, context);
  if (!sources) return std::nullopt;
  std::vector<std::string> journals = options.journals;
  if (journals.empty()) journals = {settings->journal.empty() ? places().journal() : settings->journal};
  if (journals.size() > 2) return complain(context, "review", "--journal: at most two, to compare them", kUsage);
  std::vector<Reviewed> out;
  for (const std::string& path : journals) {
    const auto span = span_of(options, days, path, context);
    if (!span) return std::nullopt;
    auto one = review_of(path, *sources, *span, context);
    if (!one) return std::nullopt;
    out.push_back(std::move(*one));
  }
  return out;
}

std::optional<ReplayOptions> replay_options(const ReviewCommand& options, CommandContext& context) {
  if (options.tapes.empty())
    return complain(context, "review", "--rules: name the tapes or minute bars to replay", kUsage);
  if (!options.journals.empty())
    return complain(context, "review", "--journal goes without tapes: they are replayed", kUsage);
  if (options.rules.size() > 2) return complain(context, "review", "--rules: at most two, to compare them", kUsage);
  ReplayOptions out;
  auto tapes = tapes_in(options.tapes);
  if (!tapes) return complain(context, "review", tapes.error().text, kBadInput);
  out.tapes = std::move(*tapes);
  out.bars = {options.zone == "utc", options.stamp == "end", options.bar, {}, {}};
  return out;
}

std::optional<Replayed> replayed_under(const std::string& rules, const Settings& settings, const ReplayOptions& options,
                                       const TemporaryFolder& folder, int number, CommandContext& context) {
  auto out = replay_rules(settings, options, folder, number);
  if (!out) return complain(context, "review", (rules.empty() ? "" : rules + ": ") + out.error().text, kBadInput);
  if (!out->summary.first_day) return complain(context, "review", "the tapes hold nothing to replay", kBadInput);
  if (number > 0) return std::move(*out);  // the same tapes: what there is to say has been said
  if (!out->curves.empty()) print_error("brimwatch review: %s\n", out->curves.c_str());
  for (const auto* lines : {&out->problems, &out->summary.remarks}) {
    for (const std::string& line : *lines) print_error("brimwatch review: %s\n", line.c_str());
  }
  print_error("brimwatch review: %d day%s replayed, %s to %s\n", out->summary.days, out->summary.days == 1 ? "" : "s",
              to_string(*out->summary.first_day).c_str(), to_string(*out->summary.last_day).c_str());
  return std::move(*out);
}

/// The same days under each set of rules, each into a journal of its own.
std::optional<std::vector<Reviewed>> from_tapes(const ReviewCommand& options, const Days& days, CommandContext& context) {
  const auto how = replay_options(options, context);
  if (!how) return std::nullopt;
  const auto folder = TemporaryFolder::make();
  if (!folder) return complain(context, "review", folder.error().text, kFailed);
  const std::vector<std::string> sets = options.rules.empty() ? std::vector<std::string>{{}} : options.rules;
  std::vector<Reviewed> out;
  for (std::size_t i = 0; i < sets.size(); ++i) {
    const auto settings = settings_of(sets[i], true, context);
    if (!settings) return std::nullopt;
    const auto sources = sources_of(options, *settings, context);
    if (!sources) return std::nullopt;
    const auto done = replayed_under(sets[i], *settings, *how, *folder, static_cast<int>(i), context);
    if (!done) return std::nullopt;
    const ReviewOptions span =
        span_of(options, days.from.value_or(*done->summary.first_day), days.to.value_or(*done->summary.last_day));
    auto one = review_of(done->journal, *sources, span, context);
    if (!one) return std::nullopt;
    one->name = sets[i];
    out.push_back(std::move(*one));
  }
  return out;
}

bool write_page(const std::string& path, const std::string& page, CommandContext& context) {
  const Status written = write_output(path, page);
  if (!written) complain(context, "review", written.error().text, kFailed);
  return written.has_value();
}

/// One symbol's lines retraced. The tapes have been replayed: what is wrong with them has been told.
void print_why(const Reviewed& reviewed, const ReviewCommand& options, CommandContext& context) {
  const auto tapes = tapes_in(options.tapes);
  const std::string text =
      why_of(options.why, reviewed.review, reviewed.input, tapes ? *tapes : std::vector<std::string>());
  if (text.empty()) {
    complain(context, "review",
             options.why + ": no crossing of it from " + to_string(reviewed.review.options.from) + " to " +
                 to_string(reviewed.review.options.to) + "; nothing to retrace",
             kFailed);
  }
  write_text(stdout, text);
}

void print(const std::vector<Reviewed>& reviews, const ReviewCommand& options, CommandContext& context) {
  const Reviewed& first = reviews.front();
  if (!options.why.empty()) return print_why(first, options, context);
  if (reviews.size() == 1) {
    if (!options.html.empty() &&
        !write_page(options.html, to_html(first.review, first.input, pictures_in_page()), context))
      return;
    context.json ? write_json(stdout, to_json(first.review) + "\n") : write_text(stdout, in_words(first.review));
    return;
  }
  const Reviewed& second = reviews.back();
  const Comparison both = compare(first.review, second.review);
  if (!options.html.empty() && !write_page(options.html, to_html(both, first.name, second.name), context)) return;
  context.json ? write_json(stdout, to_json(both) + "\n") : write_text(stdout, in_words(both, first.name, second.name));
}

void run(const ReviewCommand& options, CommandContext& context) {
  const auto days = days_of(options, context);
  if (!days) return;
  const bool tapes = !options.tapes.empty() || !options.rules.empty();
  const auto reviews = tapes ? from_tapes(options, *days, context) : from_journals(options, *days, context);
  if (reviews) print(*reviews, options, context);
}

}  // namespace

void add_review(CLI::App& root, CommandContext& context) {
  auto options = std::make_shared<ReviewCommand>();
  CLI::App* command =
      root.add_subcommand("review", "Show what followed each notice: volume, closes, how good the odds were");
  add_common(*command, context, true, About::running);
  command
      ->add_option("tapes", options->tapes,
                   "Replay these instead of reading a journal: tapes, minute bars SYMBOL.csv, directories of them")
      ->type_name("TAPE|BARS|DIR");
  command
      ->add_option("--rules", options->rules,
                   "Replay under the [rules] and [market] of this file, laid over the configuration's; two are compared")
      ->allow_extra_args(false)
      ->type_name("FILE");
  command->add_option("--journal", options->journals, "Journal to read (default: the daemon's); two are compared")
      ->type_name("FILE");
  command->add_option("--day", options->day, "One day (default: the journal's last)")->type_name("DAY");
  command->add_option("--from", options->from, "First day")->type_name("DAY");
  command->add_option("--to", options->to, "Last day")->type_name("DAY");
  command->add_option("--history", options->history, "Directory of daily bars, SYMBOL.csv (default: the configured one)")
      ->type_name("DIR");
  command->add_option("--splits", options->splits, "Splits: date,symbol,ratio (default: the configured file)")
      ->type_name("FILE");
  command->add_option("--stamp", options->stamp, "What a bar's time is")
      ->check(CLI::IsMember({"start", "end"}))
      ->capture_default_str();
  command->add_option("--zone", options->zone, "Zone of bars' times without an offset")
      ->check(CLI::IsMember({"exchange", "utc"}))
      ->capture_default_str();
  command->add_option("--bar", options->bar, "Minutes of a bar (default: the commonest gap between rows)")
      ->check(CLI::Range(1, 390));
  command->add_option("--html", options->html, "Write a page with pictures here")->type_name("FILE");
  command->add_option("--why", options->why, "Trace this symbol's figures back to the tape")->type_name("SYMBOL");
  command->add_option("--costs", options->costs, "Cost of a trade in percent of the price")->check(CLI::Range(0.0, 20.0));
  command->add_option("--late", options->late, "A delivery later than this many seconds is late")
      ->check(CLI::Range(1, 86400));
  command->footer(
      "Examples: brimwatch review --from 2026-11-01 --html november.html\n"
      "          brimwatch review --why KLVN\n"
      "          brimwatch review --rules strict.toml --rules loose.toml -- tapes/\n"
      "A set of rules: a file with [rules] and, if wanted, [market], as in the configuration. A bar does not say whether "
      "its "
      "high or its low came first; a crossing inside a bar is reported at the bar's end, at its high.");
  command->callback([options, &context] { run(*options, context); });
}

}  // namespace brimwatch
