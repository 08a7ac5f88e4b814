// brimwatch replay TAPE: the same engine on a recorded feed, at any speed.
#include "replay/replay.h"

#include <sys/resource.h>

#include <cmath>
#include <cstdio>
#include <memory>

#include "commands/command.h"
#include "commands/load.h"
#include "commands/progress.h"
#include "commands/replay_hints.h"
#include "core/text/json.h"
#include "core/text/notice_json.h"
#include "desk/curves_used.h"
#include "desk/day_view.h"
#include "desk/desk.h"
#include "journal/journal.h"
#include "replay/replay_apart.h"
#include "replay/replay_delivery.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

struct ReplayArguments {
  std::vector<std::string> tapes;
  std::string speed = "max", from, to, journal, answers, stamp = "start", zone = "exchange";
  int bar = 0;
  bool stats = false, deliver = false;
  double bad_share = 1.0;
  std::size_t jobs = 0;  ///< 0: one tape after the other, with state going over
};

/// "10:15", "10:15:30" -> minutes of the day; RFC 3339 -> an instant.
bool read_bound(const std::string& text, std::optional<Timestamp>& instant, std::optional<int>& minute) {
  if (text.empty()) return true;
  int hour = 0, min = 0;
  char rest = 0;
  if (text.size() == 5 && std::sscanf(text.c_str(), "%2d:%2d%c", &hour, &min, &rest) == 2 && hour >= 0 && hour <= 24 &&
      min >= 0 && min < 60) {
    minute = hour * 60 + min;
    return true;
  }
  instant = parse_rfc3339(text);
  return instant.has_value();
}

/// An hour of the day and an instant cannot be compared: each --from with the --to of its kind.
bool is_a_span(const ReplayOptions& options, const ReplayArguments& arguments) {
  const bool empty = (options.from && options.to && *options.from >= *options.to) ||
                     (options.from_minute && options.to_minute && *options.from_minute >= *options.to_minute);
  if (empty)
    print_error("brimwatch replay: --to: found \"%s\", expected a time after --from, \"%s\"\n", arguments.to.c_str(),
                arguments.from.c_str());
  return !empty;
}

std::optional<ReplayOptions> options_of(const ReplayArguments& arguments) {
  ReplayOptions options;
  options.tapes = arguments.tapes;
  options.journal = arguments.journal;
  options.most_bad_share = arguments.bad_share / 100;
  options.bars.utc = arguments.zone == "utc";
  options.bars.stamped_end = arguments.stamp == "end";
  options.bars.bar_minutes = arguments.bar;
  if (arguments.speed != "max") {
    char* end = nullptr;
    options.speed = std::strtod(arguments.speed.c_str(), &end);
    if (*end != '\0' || !(options.speed > 0)) {
      print_error("brimwatch replay: --speed: found \"%s\", expected max or a number above 0, such as 60\n",
                  arguments.speed.c_str());
      return std::nullopt;
    }
  }
  for (const auto& [name, text, instant, minute] :
       {std::tuple{"--from", &arguments.from, &options.from, &options.from_minute},
        std::tuple{"--to", &arguments.to, &options.to, &options.to_minute}}) {
    if (read_bound(*text, *instant, *minute)) continue;
    print_error("brimwatch replay: %s: found \"%s\", expected hh:mm or a time such as 2026-11-25T10:15:00-05:00\n", name,
                text->c_str());
    return std::nullopt;
  }
  if (!is_a_span(options, arguments)) return std::nullopt;
  return options;
}

/// What people said back to the daemon whose journal that is.
Status read_answers(const std::string& path, ReplayOptions& options) {
  if (path.empty()) return {};
  auto journal = Journal::open_read_only(path);
  if (!journal) return tl::unexpected(journal.error());
  auto answers = (*journal)->answers({}, {});
  if (!answers) return tl::unexpected(answers.error());
  options.answers = std::move(*answers);
  return {};
}

/// Prints notices as they come, and how far it is.
class ReplayPrinter : public ReplayListener {
 public:
  ReplayPrinter(bool json, ReplayDelivery* hand_out) : json_(json), hand_out_(hand_out) {}

  /// Where notices' pictures and the exchange's time come from; without it there are neither.
  void look_at(const Desk& desk, const DayBook* book) { desk_ = &desk, book_ = book; }

  void on_notice(const NoticeRecord& record) override {
    line_.clear();
    if (json_) write_json(stdout, to_json(record) + "\n");
    else write_text(stdout, record.text + "\n");
    if (hand_out_ != nullptr)
      hand_out_->send(record, book_ != nullptr ? day_picture(*desk_, *book_, record) : DayPicture());
  }
  void on_progress(std::uint64_t ticks, Timestamp at, double share) override {
    if (!line_.due()) return;
    line_.show({ticks, "ticks", share, 0, desk_ != nullptr ? exchange_time(at) : ""});
  }
  void end_progress() { line_.clear(); }
  [[nodiscard]] bool wants_pictures() const { return hand_out_ != nullptr && hand_out_->wants_pictures(); }

 private:
  [[nodiscard]] std::string exchange_time(Timestamp at) const {
    const Calendar& calendar = desk_->main_calendar();
    return to_string(calendar.local_date(at)) + " " + to_clock(at, calendar.offset(at));
  }

  bool json_;
  ReplayDelivery* hand_out_;
  const Desk* desk_ = nullptr;
  const DayBook* book_ = nullptr;
  ProgressLine line_;
};

long peak_rss_bytes() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return usage.ru_maxrss * 1024;
}

void print_stats(const ReplaySummary& summary, bool json) {
  const double rate = summary.seconds > 0 ? static_cast<double>(summary.ticks) / summary.seconds : 0;
  if (json) {
    const OrderedJson line{{"ticks", summary.ticks},
                           {"seconds", std::round(summary.seconds * 1e6) / 1e6},
                           {"ticks_per_second", std::llround(rate)},
                           {"peak_rss_bytes", peak_rss_bytes()},
                           {"notices", summary.notices}};
    return void(write_json(stdout, line.dump() + "\n"));
  }
  print_out("%llu ticks in %.3f s, %.0f a second; peak memory %ld bytes; %llu notices\n",
            static_cast<unsigned long long>(summary.ticks), summary.seconds, rate, peak_rss_bytes(),
            static_cast<unsigned long long>(summary.notices));
}

void print_summary(const ReplaySummary& summary, const ReplayOptions& options) {
  const EngineCounters& c = summary.counters;
  print_out(
      "\n%llu ticks, %llu notice%s. Trades: %llu moved a price, %llu counted as volume only, %llu held as bad prints, "
      "%llu out of order, %llu duplicates.\n",
      static_cast<unsigned long long>(summary.ticks), static_cast<unsigned long long>(summary.notices),
      summary.notices == 1 ? "" : "s", static_cast<unsigned long long>(c.eligible),
      static_cast<unsigned long long>(c.volume_only), static_cast<unsigned long long>(c.held_as_bad),
      static_cast<unsigned long long>(c.out_of_order), static_cast<unsigned long long>(c.duplicates));
  if (!options.journal.empty())
    print_out("Journal: %s (read it with: brimwatch journal --journal %s)\n", options.journal.c_str(),
              options.journal.c_str());
}

/// One tape after the other, with state going over from one to the next.
int in_a_row(Settings settings, ReplayOptions options, ReplayPrinter& printer, Result<ReplaySummary>& summary) {
  auto desk = Desk::open(std::move(settings));
  if (!desk) return tell(desk.error(), kBadConfig);
  for (const std::string& problem : (*desk)->problems()) print_error("brimwatch: %s\n", problem.c_str());
  if (const std::string curves = curves_used(**desk); !curves.empty()) print_error("brimwatch: %s\n", curves.c_str());
  DayBook book;
  if (printer.wants_pictures()) options.book = &book;
  printer.look_at(**desk, options.book);
  summary = replay(**desk, options, printer);
  return kFine;
}

/// Days of their own share no state, and so no journal; and no one clock runs through them.
bool fit_together(const ReplayArguments& arguments) {
  if (arguments.jobs == 0) return true;
  const char* const other = !arguments.journal.empty()   ? "--journal"
                            : !arguments.answers.empty() ? "--answers"
                            : arguments.speed != "max"   ? "--speed"
                                                         : nullptr;
  if (other != nullptr) print_error("brimwatch replay: found --jobs and %s, expected one of them\n", other);
  return other == nullptr;
}

int run_replay(const ReplayArguments& arguments, const CommandContext& context) {
  auto options = options_of(arguments);
  if (!options || !fit_together(arguments)) return kUsage;
  if (const Status read = read_answers(arguments.answers, *options); !read) return tell(read.error(), kBadInput);
  auto settings = load_or_tell(context);
  if (!settings) return kBadConfig;
  std::optional<ReplayDelivery> hand_out;
  if (arguments.deliver) {
    auto opened = ReplayDelivery::open(settings->channels, false);
    if (!opened) return tell(opened.error(), kBadConfig);
    hand_out = std::move(*opened);
  }
  ReplayPrinter printer(context.json, hand_out ? &*hand_out : nullptr);
  const SessionSettings session = settings->session;
  Result<ReplaySummary> summary;
  if (arguments.jobs > 0) {
    summary = replay_apart(*settings, *options, arguments.jobs, printer);
  } else if (const int failed = in_a_row(std::move(*settings), *options, printer, summary); failed != kFine) {
    return failed;
  }
  printer.end_progress();
  if (!summary) {
    const std::vector<std::string> more = hints_at_rows(options->tapes, session, options->bars.utc);
    for (const std::string& line : more) print_error("brimwatch: %s\n", line.c_str());
    return tell(summary.error(), kBadInput);
  }
  std::fflush(stdout);  // what is for the error stream comes after the notices, also where both go to one file
  for (const std::string& remark : summary->remarks) print_error("brimwatch: %s\n", remark.c_str());
  if (!summary->unwatched.empty()) print_error("brimwatch: %s\n", unwatched_text(summary->unwatched).c_str());
  if (hand_out) {
    for (const std::string& line : hand_out->summary()) print_error("brimwatch: %s\n", line.c_str());
  }
  if (!context.json) print_summary(*summary, *options);
  if (arguments.stats) print_stats(*summary, context.json);
  return kFine;
}

}  // namespace

void add_replay(CLI::App& root, CommandContext& context) {
  auto arguments = std::make_shared<ReplayArguments>();
  CLI::App* command = root.add_subcommand("replay", "Run the same engine on a recorded feed, at any speed");
  command
      ->add_option(
          "tapes", arguments->tapes,
          "Tapes in order (CSV, plain, gzip or zstd; - is standard input), recorded frames, or minute bars SYMBOL.csv")
      ->required()
      ->type_name("TAPE");
  add_common(*command, context);
  command
      ->add_option("--jobs", arguments->jobs,
                   "Replay each tape as a separate day, N at a time; output comes in the order of the tapes")
      ->type_name("N")
      ->check(CLI::Range(1, 256));
  command->add_option("--speed", arguments->speed, "max, or times real time: 60 plays an hour in a minute")
      ->type_name("max|N");
  command->add_option("--from", arguments->from, "Start here: hh:mm at the exchange, or RFC 3339")->type_name("T");
  command->add_option("--to", arguments->to, "Stop here: hh:mm at the exchange, or RFC 3339")->type_name("T");
  command
      ->add_option("--answers", arguments->answers,
                   "A daemon's journal, whose answers (mutes, added watches, purchases) are applied at their times")
      ->type_name("FILE");
  command
      ->add_option("--journal", arguments->journal,
                   "Keep notices and state in this file; an interrupted replay resumes from the same file and writes no "
                   "notice twice")
      ->type_name("FILE");
  command->add_option("--bad-rows", arguments->bad_share, "Give up when more than this percentage of rows cannot be read")
      ->type_name("PCT");
  command->add_option("--stamp", arguments->stamp, "What a bar's time is")
      ->check(CLI::IsMember({"start", "end"}))
      ->capture_default_str();
  command->add_option("--zone", arguments->zone, "Zone of bars' times without an offset")
      ->check(CLI::IsMember({"exchange", "utc"}))
      ->capture_default_str();
  command->add_option("--bar", arguments->bar, "Minutes of a bar (default: the commonest gap between rows)")
      ->check(CLI::Range(1, 390));
  command->add_flag("--deliver", arguments->deliver,
                    "Send the notices through the configured channels too (a rehearsal)");
  command->add_flag("--stats", arguments->stats, "End with ticks, seconds, rate and peak memory");
  command->footer(
      "Example: brimwatch replay monday.csv.zst --config brimwatch.toml --from 09:30 --to 11:00\n"
      "The clock is the tape's: two replays of one tape print the same bytes.");
  command->callback([arguments, &context] { context.exit = run_replay(*arguments, context); });
}

}  // namespace brimwatch
