// brimwatch review: what held, what did not, how good the odds were.
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "commands/command.h"
#include "config/loader.h"
#include "config/paths.h"
#include "evening/compare.h"
#include "evening/gather.h"

namespace brimwatch {
namespace {

struct ReviewCommand {
  std::vector<std::string> journals;
  std::string day, from, to, history, html;
  double costs = 0.1;
  int late = 60;
};

std::nullopt_t complain(CommandContext& context, const std::string& text, int code) {
  std::fprintf(stderr, "brimwatch review: %s\n", text.c_str());
  context.exit = code;
  return std::nullopt;
}

struct Sources {
  std::vector<std::string> journals;
  std::string history;
  std::vector<ReviewWatch> watches;
};

/// What the command line does not say comes from the configuration; without either, the places XDG gives.
std::optional<Sources> sources_of(const ReviewCommand& options, CommandContext& context) {
  Sources out{options.journals, options.history, {}};
  const std::string file = config_file(context.config);
  std::error_code error;
  if (!context.config.empty() || std::filesystem::exists(file, error)) {
    const Loaded loaded = load_settings(file);
    if (!loaded.ok()) return complain(context, to_string(loaded.problems.front()), kBadConfig);
    if (out.journals.empty() && !loaded.settings.journal.empty()) out.journals = {loaded.settings.journal};
    if (out.history.empty()) out.history = loaded.settings.history.daily;
    for (const Watch& watch : loaded.settings.watches)
      out.watches.push_back({std::string(watch.symbol), watch.pivot, watch.from, watch.until, watch.rearm_level});
  }
  if (out.journals.empty()) out.journals = {places().journal()};
  if (out.journals.size() > 2) return complain(context, "--journal: at most two, to compare them", kUsage);
  return out;
}

bool read_day(const char* option, const std::string& text, std::optional<Date>& into, CommandContext& context) {
  if (text.empty()) return true;
  into = parse_date(text);
  if (into) return true;
  complain(context, std::string(option) + ": found \"" + text + "\", expected a day such as 2026-11-20", kUsage);
  return false;
}

/// The days asked for; without any, the last day that the journal holds.
std::optional<ReviewOptions> span_of(const ReviewCommand& options, Journal& journal, CommandContext& context) {
  std::optional<Date> day, from, to;
  if (!read_day("--day", options.day, day, context) || !read_day("--from", options.from, from, context) ||
      !read_day("--to", options.to, to, context)) {
    return std::nullopt;
  }
  if (day && (from || to)) return complain(context, "--day goes without --from and --to", kUsage);
  const auto last = last_day(journal);
  if (!last) return complain(context, last.error().text, kFailed);
  if (!*last && !day && !to) return complain(context, "the journal holds no notice yet; nothing to review", kFailed);
  ReviewOptions out;
  out.to = day ? *day : to ? *to : **last;
  out.from = day ? *day : from ? *from : out.to;
  out.cost_percent = options.costs;
  out.late_seconds = options.late;
  if (out.from > out.to) return complain(context, "--from is after --to", kUsage);
  return out;
}

struct Reviewed {
  ReviewInput input;
  Review review;
};

std::optional<Reviewed> review_of(const std::string& path, const Sources& sources, const ReviewCommand& options,
                                  CommandContext& context) {
  const auto journal = Journal::open_read_only(path);
  if (!journal) return complain(context, journal.error().text, kFailed);
  const auto span = span_of(options, **journal, context);
  if (!span) return std::nullopt;
  auto gathered = gather(**journal, sources.history, sources.watches, *span);
  if (!gathered) return complain(context, gathered.error().text, kFailed);
  for (const std::string& remark : gathered->remarks) std::fprintf(stderr, "brimwatch review: %s\n", remark.c_str());
  Reviewed out{std::move(gathered->input), {}};
  out.review = review(out.input);
  return out;
}

bool write_html(const std::string& path, const Reviewed& one, CommandContext& context) {
  if (path.empty()) return true;
  std::ofstream file(path, std::ios::binary | std::ios::trunc);
  file << to_html(one.review, one.input);
  file.close();
  if (file) return true;
  complain(context, path + ": could not be written", kFailed);
  return false;
}

void run(const ReviewCommand& options, CommandContext& context) {
  const auto sources = sources_of(options, context);
  if (!sources) return;
  std::vector<Reviewed> reviews;
  for (const std::string& path : sources->journals) {
    auto one = review_of(path, *sources, options, context);
    if (!one) return;
    reviews.push_back(std::move(*one));
  }
  if (!write_html(options.html, reviews.front(), context)) return;
  if (reviews.size() == 2) {
    const Comparison both = compare(reviews[0].review, reviews[1].review);
    std::fputs((context.json ? to_json(both) + "\n" : in_words(both, sources->journals[0], sources->journals[1])).c_str(),
               stdout);
    return;
  }
  std::fputs((context.json ? to_json(reviews[0].review) + "\n" : in_words(reviews[0].review)).c_str(), stdout);
}

}  // namespace

void add_review(CLI::App& root, CommandContext& context) {
  auto options = std::make_shared<ReviewCommand>();
  CLI::App* command =
      root.add_subcommand("review", "What came of the notices: volume, closes, what followed, how good the odds were");
  add_common(*command, context);
  command->add_option("--journal", options->journals, "Journal to read (default: the daemon's); two are compared")
      ->type_name("FILE");
  command->add_option("--day", options->day, "One day (default: the journal's last)")->type_name("DAY");
  command->add_option("--from", options->from, "First day")->type_name("DAY");
  command->add_option("--to", options->to, "Last day")->type_name("DAY");
  command->add_option("--history", options->history, "Directory of daily bars, SYMBOL.csv (default: the configured one)")
      ->type_name("DIR");
  command->add_option("--html", options->html, "Write a page with pictures here")->type_name("FILE");
  command->add_option("--costs", options->costs, "Cost of a trade in percent of the price")->check(CLI::Range(0.0, 20.0));
  command->add_option("--late", options->late, "A delivery later than this many seconds is late")
      ->check(CLI::Range(1, 86400));
  command->callback([options, &context] { run(*options, context); });
}

}  // namespace brimwatch
