// brimwatch check: what would be watched, or all that is wrong.
#include <algorithm>
#include <cstdio>
#include <map>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "commands/answers/without_daemon.h"
#include "commands/check_silence.h"
#include "commands/command.h"
#include "commands/load.h"
#include "commands/shared_lists.h"
#include "config/overview.h"
#include "config/paths.h"
#include "config/reading/nearest.h"
#include "core/text/text.h"
#include "desk/curves_used.h"
#include "desk/histories.h"
#include "desk/market.h"
#include "desk/mute.h"
#include "files/daily_file.h"
#include "files/text_file.h"
#include "live/usable.h"
#include "loop/clock.h"
#include "session/calendar.h"
#include "session/session_days.h"
#include "terminal/terminal.h"
#include "weekend/events.h"

namespace brimwatch {
namespace {

struct CheckOptions {
  bool explain = false, names = false;
  SilenceAsk silence;
  std::vector<std::string> symbols;
};

/// Normal volumes of a configuration's symbols; each file is read once.
class NormalVolumes {
 public:
  /// `today`: none where nothing is watched live, so that the age of bars means nothing.
  NormalVolumes(const Settings& settings, std::optional<Date> today) : settings_(settings), today_(today) {
    if (!settings.history.splits.empty()) take_events();
    auto learned = read_learned(settings.history.learned);
    if (learned) learned_ = std::move(*learned);
    else print_error("%s (warning)\n", learned.error().text.c_str());
    auto lifts = read_own_lifts(own_lift_file(settings.history.learned));
    if (lifts) own_lifts_ = std::move(*lifts);
    else print_error("%s (warning)\n", lifts.error().text.c_str());
  }

  /// Which learned curves, and what of their own crossings, the odds will come from.
  [[nodiscard]] std::string curves() const { return curves_used(learned_, own_lifts_, settings_.history.learned); }

  NormalVolume of(const Watch& watch) {
    NormalVolume out;
    if (watch.normal_volume) {
      out.from = NormalVolume::From::list;
      out.shares = *watch.normal_volume;
    } else if (!settings_.history.daily.empty()) {
      out = history_of(watch);
    }
    const auto learned = learned_.find(watch.symbol);
    if (learned != learned_.end() && learned->second.ratio_days > 0) out.feed_ratio = learned->second.feed_ratio;
    return out;
  }

  /// Pivots that the last known close is nowhere near: a misplaced point more often than a plan.
  std::vector<std::string> far_pivots() {
    constexpr double kFar = 2.0;
    std::vector<std::string> out;
    const WatchList& watches = settings_.watches;
    for (std::size_t i = 0; i < watches.size() && !settings_.history.daily.empty(); ++i) {
      const Watch watch = watches[i];
      (void)history_of(watch);
      const double close = closes_[watch.symbol].as_double(), pivot = watch.pivot.as_double();
      if (close <= 0 || (pivot < close * kFar && pivot * kFar > close)) continue;
      out.push_back(to_string(Problem{settings_.files[watch.file], watch.line, watch.column,
                                      "watch \"" + watch.symbol + "\": pivot: found " + to_string(watch.pivot) +
                                          ", far from the last known close " + to_string(closes_[watch.symbol])}));
    }
    return out;
  }

  /// Files that are there and cannot be read: `run` leaves them out whatever else the list says of these stocks.
  std::vector<std::string> troubles() {
    std::vector<std::string> out;
    if (settings_.history.daily.empty()) return out;
    const WatchList& watches = settings_.watches;
    std::vector<bool> seen(watches.symbols().size());
    for (std::size_t i = 0; i < watches.size(); ++i) {
      if (seen[watches.symbol_number(i)]) continue;
      seen[watches.symbol_number(i)] = true;
      if (file_of(watches.symbol(i)).empty()) continue;
      if (const std::string& trouble = history_of(watches[i]).trouble; !trouble.empty()) out.push_back(trouble);
    }
    out.insert(out.end(), doubts_.begin(), doubts_.end());
    return out;
  }

  const Calendar* calendar_of(Mic mic) {
    const auto [place, fresh] = calendars_.try_emplace(mic);
    if (fresh) {
      if (auto loaded = Calendar::load(mic, settings_.session.calendar_files)) place->second = *loaded;
    }
    return place->second.get();
  }

 private:
  [[nodiscard]] std::string file_of(const std::string& symbol) const { return store_.file_of(symbol); }

  const NormalVolume& history_of(const Watch& watch) {
    const auto [place, fresh] = by_symbol_.try_emplace(watch.symbol);
    if (fresh) place->second = from_history(watch);
    return place->second;
  }

  NormalVolume from_history(const Watch& watch) {
    NormalVolume out;
    const std::string file = file_of(watch.symbol);
    const Calendar* calendar = calendar_of(watch.calendar);
    const BarTrust trust{settings_.history.checks, [&](const std::string&) { return sessions_of(calendar); }};
    const auto history = make_history(store_.read(watch.symbol, DailyRows::every), events_, trust, kVolumeRows);
    if (!history) out.trouble = history.error().text;
    if (!history || calendar == nullptr) return out;
    tell_doubts(file, history->found);
    const std::vector<DailyBar>* bars = &history->bars;
    const Date day = today_.value_or(bars->back().day + 1);  // as in the daemon: a row of today or later is no past day
    const int last = last_bar_by(*bars, day - 1);
    if (last < 0) return out;
    const DailyBar& newest = (*bars)[static_cast<std::size_t>(last)];
    closes_[watch.symbol] = newest.close;
    const int missing = today_ ? sessions_missing(*bars, *today_, *calendar) : 0;
    if (missing > kOldestSessions) {
      out.trouble = file + ": the bars end " + to_string(newest.day) + ", " + std::to_string(missing) +
                    " sessions ago; no volume is judged by bars that are more than " + std::to_string(kOldestSessions) +
                    " sessions old";
      return out;
    }
    const double mean = normal_volume(*bars, day, *calendar, &out.days);
    if (mean <= 0) return out;
    out.from = NormalVolume::From::history;
    out.shares = Shares::whole(static_cast<std::int64_t>(mean + 0.5));
    out.last = newest.day;
    return out;
  }

  /// What is wrong with them is told by troubles_in_files().
  void take_events() {
    const auto text = read_file(settings_.history.splits);
    if (!text) return;
    if (auto events = parse_price_events(*text, settings_.history.splits)) events_ = std::move(*events);
  }

  void tell_doubts(const std::string& file, const TrustedBars& found) {
    if (!found.doubts.empty()) doubts_.push_back(file + ": doubtful daily bars: " + in_words(found.doubts) + "; used");
    if (!found.left_out.empty())
      doubts_.push_back(file + ": doubtful daily bars: " + in_words(found.left_out) + "; left out");
  }

  std::span<const Date> sessions_of(const Calendar* calendar) {
    auto [days, fresh] = sessions_.try_emplace(calendar);
    if (fresh && calendar != nullptr) days->second = session_days(*calendar);
    return days->second;
  }

  const Settings& settings_;
  DailyStore store_{settings_.history.daily};
  std::vector<std::string> doubts_;
  std::map<const Calendar*, std::vector<Date>> sessions_;
  std::optional<Date> today_;
  PriceEvents events_;
  LearnedBySymbol learned_;
  OwnLifts own_lifts_;
  std::map<std::string, NormalVolume> by_symbol_;
  std::map<std::string, Price> closes_;  ///< the last of each history that was read; unset: none
  std::map<Mic, std::shared_ptr<const Calendar>> calendars_;
};

/// Calendars are read by another module, so what is wrong in them is found here. True when all load.
bool calendars_load(const Settings& settings) {
  std::map<Mic, bool> wanted{{Mic(settings.session.calendar), true}};
  for (std::size_t i = 0; i < settings.watches.size(); ++i) wanted[settings.watches.calendar(i)] = true;
  bool good = true;
  for (const auto& [mic, unused] : wanted) {
    const auto loaded = Calendar::load(mic, settings.session.calendar_files);
    if (!loaded) print_error("%s\n", loaded.error().text.c_str());
    good = good && loaded.has_value();
  }
  return good;
}

struct Market {
  Trend trend = Trend::unknown;
  std::string source;
};

/// As set, or as the index's bars say for the session after the last of them.
Market market_of(const MarketSettings& settings, std::optional<Date> today) {
  if (settings.trend != Trend::unknown) return {settings.trend, "as you set it"};
  if (settings.index.empty()) return {Trend::unknown, "set [market] trend, or give an index"};
  const auto history = read_history(settings.index, {}, {}, kTrendRows);
  if (!history) return {Trend::unknown, history.error().text};
  const std::vector<DailyBar>* bars = &history->bars;
  for (const BarFinding& finding : history->found.doubts) {
    if (finding.fault == BarFault::split)
      return {Trend::unknown, settings.index + " is doubtful: " + finding.text + "; it gives no trend"};
  }
  if (bars->size() < 200) return {Trend::unknown, settings.index + " has fewer than the 200 bars it takes"};
  const Date last = bars->back().day;
  if (today && *today - last > kOldestIndexDays)
    return {Trend::unknown, settings.index + " ends " + to_string(last) + ", " + std::to_string(*today - last) +
                                " days ago; more than " + std::to_string(kOldestIndexDays) + " are too many"};
  return {trend_before(*bars, today.value_or(last + 1)), "from " + settings.index + ", bars to " + to_string(last)};
}

/// What the named files hold that cannot be used; that they are there has been looked at by the loader.
std::vector<std::string> troubles_in_files(const HistorySettings& history) {
  std::vector<std::string> out;
  const auto look = [&out](const std::string& path, auto parse) {
    const auto text = path.empty() ? Result<std::string>(fail("")) : read_file(path);
    if (!text) return;
    if (const auto parsed = parse(*text, path); !parsed) out.push_back(parsed.error().text);
  };
  look(history.splits, parse_price_events);
  look(history.earnings, parse_report_dates);
  return out;
}

void warn(const std::vector<std::string>& troubles) {
  constexpr std::size_t kMost = 50;
  for (std::size_t i = 0; i < std::min(troubles.size(), kMost); ++i) print_error("%s (warning)\n", troubles[i].c_str());
  if (troubles.size() > kMost) print_error("and %zu more of the kind, not shown\n", troubles.size() - kMost);
}

/// Symbols that were asked for and that nobody watches; false when there is one.
bool all_watched(const std::vector<std::string>& wanted, const WatchList& watches) {
  const auto& symbols = watches.symbols();
  bool all = true;
  for (const std::string& symbol : wanted) {
    if (std::find(symbols.begin(), symbols.end(), symbol) != symbols.end()) continue;
    const auto near = nearest(symbol, {symbols.begin(), symbols.end()});
    tell(Error{"no watch " + clean_line(symbol, 40) + (near.empty() ? "" : "; nearest is " + std::string(near))}, kUsage);
    all = false;
  }
  return all;
}

/// Whether `brimwatch run` would follow anything: a recorded day has days of its own.
bool watches_live(const Settings& settings) {
  return std::any_of(settings.feeds.begin(), settings.feeds.end(),
                     [](const FeedSettings& feed) { return feed.enabled && feed.kind != "tape" && feed.rehearsal <= 0; });
}

/// Of each watch, what would keep it from telling; `day`: that of the next session, where anything is watched live.
class MuteWarnings {
 public:
  MuteWarnings(const Settings& settings, Trend trend, std::optional<Date> day)
      : settings_(settings), trend_(trend), day_(day) {}

  void look(NormalVolumes& normal) {
    for (std::size_t i = 0; i < settings_.watches.size(); ++i) {
      const Watch watch = settings_.watches[i];
      const Calendar* calendar = normal.calendar_of(watch.calendar);
      MuteFacts facts{.watch = watch, .settings = settings_, .day = day_};
      if (day_ && calendar != nullptr) facts.session = calendar->on(*day_);
      facts.trend = trend_;
      facts.knows_normal = normal.of(watch).from != NormalVolume::From::unknown;
      for (const MuteCause& cause : mute_causes(facts)) take(watch, cause);
    }
  }

  [[nodiscard]] std::vector<std::string> texts() const {
    std::vector<std::string> out;
    for (const MuteList::Line& line : silent_.lines()) {
      out.push_back("no crossing would be told" + (day_ ? " on " + brimwatch::to_string(*day_) : std::string()) + " of " +
                    line.names() + ": " + brimwatch::to_string(line.cause));
    }
    out.insert(out.end(), levels_.begin(), levels_.end());
    return out;
  }

 private:
  /// What the table or its foot says is not said again.
  void take(const Watch& watch, const MuteCause& cause) {
    if (cause.no_crossing) return silent_.add(watch.symbol, cause);
    if (cause.about != MuteCause::About::levels) return;
    const Problem at{settings_.files[watch.file], watch.line, watch.column,
                     "watch \"" + watch.symbol + "\": " + brimwatch::to_string(cause)};
    levels_.push_back(brimwatch::to_string(at));
  }

  const Settings& settings_;
  Trend trend_;
  std::optional<Date> day_;
  MuteList silent_;
  std::vector<std::string> levels_;
};

/// Today, or the day of the next session.
std::optional<Date> next_day(const SessionSettings& session) {
  const auto calendar = Calendar::load(session.calendar, session.calendar_files);
  const Session* const next = calendar ? (*calendar)->at_or_after(wall_now()) : nullptr;
  return next != nullptr ? std::optional(next->day) : std::nullopt;
}

/// The exchange's day.
std::optional<Date> today_of(const SessionSettings& session) {
  const auto calendar = Calendar::load(session.calendar, session.calendar_files);
  return calendar ? std::optional((*calendar)->local_date(wall_now())) : std::nullopt;
}

/// With symbols and --explain, programs are told why they are silent, and not how they are watched.
int show(const CheckOptions& options, const Settings& settings, bool json) {
  const std::optional<Date> today = today_of(settings.session);
  const std::optional<Date> age_by = watches_live(settings) ? today : std::nullopt;
  NormalVolumes normal(settings, age_by);
  warn(normal.troubles());
  if (const std::string curves = normal.curves(); !curves.empty()) print_error("%s\n", curves.c_str());
  warn(normal.far_pivots());
  warn(troubles_in_files(settings.history));
  if (settings.shared.on()) warn(differences_of_lists(settings));
  const Market market = market_of(settings.market, age_by);
  MuteWarnings mute(settings, market.trend, age_by ? next_day(settings.session) : std::nullopt);
  mute.look(normal);
  warn(mute.texts());
  const Overview overview{settings,        [&normal](const Watch& watch) { return normal.of(watch); },
                          market.trend,    market.source,
                          options.symbols, today};
  const bool is_silence_asked = options.explain && !options.symbols.empty();
  if (!json) write_text(stdout, overview_table(overview) + (options.explain ? "\n" + explanation(overview) : ""));
  else if (!is_silence_asked) write_json(stdout, overview_json(overview));
  if (!is_silence_asked) return kFine;
  return explain_silence(
      options.silence, options.symbols, settings, market.trend,
      [&normal](const Watch& watch) { return normal.of(watch).from != NormalVolume::From::unknown; }, json);
}

/// For completion, where every word on standard error would stand in the middle of somebody's line.
int print_names() {
  const Loaded loaded = load_settings(config_file({}), {});
  if (!loaded.ok()) return kBadConfig;
  std::vector<std::string> names(loaded.settings.watches.symbols().begin(), loaded.settings.watches.symbols().end());
  std::sort(names.begin(), names.end());
  std::string text;
  for (const std::string& name : names) text += name + "\n";
  write_verbatim(stdout, text);
  return kFine;
}

void run_check(const CheckOptions& options, CommandContext& context) {
  Loaded loaded = load_settings(config_file(context.config), usable({.files = true}));
  for (const Problem& warning : loaded.warnings) print_error("%s (warning)\n", to_string(warning).c_str());
  for (const Problem& problem : loaded.problems) print_error("%s\n", to_string(problem).c_str());
  if (!loaded.ok() || !calendars_load(loaded.settings)) {
    context.exit = kBadConfig;
    return;
  }
  lay_answers(loaded.settings, journal_of(loaded.settings, options.silence.journal));
  const bool known = all_watched(options.symbols, loaded.settings.watches);
  if (!known) context.exit = kUsage;
  if (!known && options.symbols.size() < 2) return;
  if (const int shown = show(options, loaded.settings, context.json); shown != kFine) context.exit = shown;
}

}  // namespace

void add_check(CLI::App& root, CommandContext& context) {
  auto options = std::make_shared<CheckOptions>();
  CLI::App* command = root.add_subcommand("check", "Check configuration and watch lists, and show what would be watched");
  add_common(*command, context);
  command->add_flag(
      "--explain", options->explain,
      "Explain what each rule will do; for the symbols named, also why they were silent on a day, or would be");
  command->add_option("--day", options->silence.day, "With --explain SYMBOL: that day, in place of today")
      ->type_name("DAY");
  command
      ->add_option("--tape", options->silence.tapes,
                   "With --explain SYMBOL: the day's tapes, in place of what was recorded")
      ->type_name("TAPE");
  command->add_option("--journal", options->silence.journal, "Journal of notices and answers (default: the daemon's)")
      ->type_name("FILE");
  command->add_flag("--names", options->names, "Print the symbols alone, one a line, for shells and scripts");
  command->add_option("symbols", options->symbols, "Show only these symbols")->type_name("SYMBOL");
  command->footer(
      "All errors are printed at once on standard error, as file:line:column; the exit code is then 3. Nothing is sent, "
      "and only the etcd of [shared] is contacted, for the other machines' lists and rules.");
  command->callback([options, &context] {
    if (options->names) context.exit = print_names();
    else run_check(*options, context);
  });
}

}  // namespace brimwatch
