#include "desk/desk.h"

#include <algorithm>
#include <span>
#include <string_view>
#include <utility>

#include "core/wording.h"
#include "desk/market.h"
#include "session/past_day.h"
#include "session/session_days.h"

namespace brimwatch {
namespace {

EngineOptions options_of(const Settings& settings) {
  EngineOptions options;
  options.trend = settings.market.trend;
  options.when_down = settings.market.when_down;
  options.extended_volume = settings.session.extended_volume;
  options.day_volume_includes = settings.session.day_volume_includes;
  if (!settings.feeds.empty()) {
    options.late_after = std::chrono::duration_cast<std::chrono::nanoseconds>(settings.feeds.front().late_after).count();
  }
  return options;
}

/// The calendars of all watches; the one of a symbol is that of any of its watches, for the list has one a symbol.
Status load_calendars(DeskParts& parts) {
  const SessionSettings& session = parts.settings.session;
  const auto get = [&](const Mic& mic) -> Result<std::shared_ptr<const Calendar>> {
    const auto found = parts.calendars.find(mic);
    if (found != parts.calendars.end()) return found->second;
    auto loaded = Calendar::load(mic, session.calendar_files);
    if (loaded) parts.calendars.emplace(mic, *loaded);
    return loaded;
  };
  const auto main = get(session.calendar);
  if (!main) return fail(main.error().text);
  parts.main_calendar = *main;
  const WatchList& watches = parts.settings.watches;
  parts.calendar_of_symbol.resize(watches.symbols().size());
  for (std::size_t i = 0; i < watches.size(); ++i) {
    auto& calendar = parts.calendar_of_symbol[watches.symbol_number(i)];
    if (calendar != nullptr) continue;
    const auto found = watches.calendar(i).empty() ? main : get(watches.calendar(i));
    if (!found) return fail(found.error().text);
    calendar = *found;
  }
  return {};
}

/// Days of the calendars, listed once each.
class Sessions {
 public:
  explicit Sessions(const DeskParts& parts) : parts_(parts) {
    const auto& symbols = parts.settings.watches.symbols();
    for (std::size_t i = 0; i < symbols.size(); ++i) number_.emplace(symbols[i], i);
  }

  std::span<const Date> of(const std::string& symbol) {
    const auto number = number_.find(symbol);
    const Calendar* calendar =
        number == number_.end() ? parts_.main_calendar.get() : parts_.calendar_of_symbol[number->second].get();
    auto [days, fresh] = days_.try_emplace(calendar);
    if (fresh && calendar != nullptr) days->second = session_days(*calendar);
    return days->second;
  }

 private:
  const DeskParts& parts_;
  std::map<std::string_view, std::size_t> number_;
  std::map<const Calendar*, std::vector<Date>> days_;
};

/// A step that no market makes spoils every mean over it, and so does a week that is missing. Volumes of an index mean
/// nothing, and many files have none; of its prices only the closes count, which no spike changes.
void read_index(DeskParts& parts, BarTrust trust) {
  trust.checks.still = trust.checks.repeat = trust.checks.spike = trust.checks.other = BarTreatment::use;
  auto history = read_history(parts.settings.market.index, {}, trust, kTrendRows);
  if (!history) return void(parts.problems.push_back(history.error().text));
  parts.index = std::move(history->bars);
  for (const BarFinding& finding : history->found.doubts) {
    const bool spoils = finding.fault == BarFault::split || finding.count > kFreshSessions;
    if (spoils) parts.index_doubt = finding.text;
    else parts.problems.push_back(parts.settings.market.index + ": " + finding.text + "; it still gives the trend");
  }
  if (!parts.index_doubt.empty())
    parts.problems.push_back(parts.settings.market.index + ": " + parts.index_doubt + "; it gives no trend");
}

}  // namespace

bool is_rehearsal(const Settings& settings) {
  return std::any_of(settings.feeds.begin(), settings.feeds.end(),
                     [](const FeedSettings& feed) { return feed.enabled && feed.rehearsal > 0; });
}

Result<std::unique_ptr<Desk>> Desk::open(Settings settings) {
  std::unique_ptr<Desk> desk(new Desk());
  desk->engine_ =
      std::make_unique<Engine>(options_of(settings), desk->symbols_,
                               [raw = desk.get()](SymbolId symbol, std::uint32_t watch, const Session& session) {
                                 return raw->plan(symbol, watch, session);
                               });
  if (const auto applied = desk->apply(std::move(settings)); !applied) return fail(applied.error().text);
  return desk;
}

Result<DeskParts> Desk::prepare(Settings settings) {
  DeskParts parts(std::move(settings));
  if (const auto loaded = load_calendars(parts); !loaded) return fail(loaded.error().text);
  const HistorySettings& history = parts.settings.history;
  parts.remarks.load(history, parts.problems);
  Sessions sessions(parts);
  const BarTrust trust{history.checks, [&sessions](const std::string& symbol) { return sessions.of(symbol); }};
  parts.histories.load(history.daily, history.learned, parts.settings.watches.symbols(), parts.remarks.events(), trust,
                       history.keep_days ? history.heard : std::string());
  const auto& problems = parts.histories.problems();
  parts.problems.insert(parts.problems.end(), problems.begin(), problems.end());
  if (!parts.settings.market.index.empty()) read_index(parts, trust);
  return parts;
}

void Desk::apply(DeskParts&& parts) {
  calendars_ = std::move(parts.calendars);
  main_calendar_ = std::move(parts.main_calendar);
  histories_.take(std::move(parts.histories));
  usual_curve_ = &histories_.usual_curve();
  remarks_ = std::move(parts.remarks);
  index_ = std::move(parts.index);
  index_doubt_ = std::move(parts.index_doubt);
  problems_ = std::move(parts.problems);
  settings_ = std::move(parts.settings);
  trend_ = settings_.market.trend;
  engine_->set_market(trend_, settings_.market.when_down);
  engine_->set_watches(std::move(parts.watches), settings_.watches, parts.calendar_of_symbol);
}

Status Desk::apply(Settings settings) {
  auto parts = prepare(std::move(settings));
  if (!parts) return fail(parts.error().text);
  apply(std::move(*parts));
  return {};
}

const Calendar& Desk::calendar(std::uint32_t watch) const {
  if (watch >= settings_.watches.size()) return *main_calendar_;
  const auto found = calendars_.find(settings_.watches.calendar(watch));
  return found == calendars_.end() ? *main_calendar_ : *found->second;
}

std::optional<Date> Desk::past_day(SymbolId symbol, Timestamp time, Timestamp now) const {
  const Calendar* const own = engine_->calendar_of(symbol);
  return brimwatch::past_day(time, now, own != nullptr ? *own : *main_calendar_);
}

NoticeRecord Desk::word(Notice notice) const {
  WordingContext context;
  const std::uint32_t watch = notice.watch;
  context.symbol = symbols_.name(notice.symbol);
  std::string note;
  if (watch < settings_.watches.size()) note = settings_.watches.note(watch);
  const std::string remark = remarks_.at(notice, context.symbol, calendar(watch),
                                         {histories_.daily(context.symbol), index_, histories_.doubts(context.symbol)});
  if (!remark.empty()) note += (note.empty() ? "" : "; ") + remark;
  context.note = note;
  context.offset = calendar(watch).offset(notice.time);
  return brimwatch::word(std::move(notice), context);
}

DayPlan Desk::plan(SymbolId symbol, std::uint32_t watch, const Session& session) const {
  const std::string_view name = symbols_.name(symbol);
  const std::optional<Shares> given =
      watch < settings_.watches.size() ? settings_.watches.normal_volume(watch) : std::nullopt;
  const Calendar& at = calendar(watch);
  DayPlan plan = make_plan(session, histories_.daily_for(name, session.day, at), histories_.learned(name), given, at);
  plan.split_listed = remarks_.has_split(name, session.day);
  if (plan.curve == nullptr) plan.curve = borrowed(*usual_curve_);
  if (const OwnLift* own = own_lift_on(histories_.own_lifts(), session.day)) plan.own_lift = own->lift;
  return plan;
}

double Desk::split_factor(std::string_view symbol, Date then, Date now) const {
  const auto found = remarks_.events().find(symbol);
  double factor = 1;
  if (found == remarks_.events().end()) return factor;
  for (const PriceEvent& event : found->second) {
    if (event.is_split() && then < event.day && event.day <= now) factor /= event.ratio;
  }
  return factor;
}

Price Desk::last_close(std::uint32_t watch, Date today) const {
  const std::string_view symbol = settings_.watches.symbol(watch);
  if (histories_.daily(symbol).empty()) return {};
  const std::vector<DailyBar> bars = histories_.daily_for(symbol, today, calendar(watch));
  return bars.empty() ? Price{} : bars.back().close;
}

std::string Desk::old_index(Date day) const {
  if (settings_.market.trend != Trend::unknown || index_.empty()) return {};
  if (!index_doubt_.empty())
    return "; the index's bars are doubtful (" + index_doubt_ + "): the market's trend is not known";
  if (day - index_.back().day <= kOldestIndexDays) return {};
  return "; the index's bars end " + to_string(index_.back().day) + ", too old: the market's trend is not known";
}

void Desk::begin_day(Date day) {
  if (settings_.market.trend != Trend::unknown || index_.empty()) return;
  trend_ = index_doubt_.empty() ? trend_before(index_, day) : Trend::unknown;
  engine_->set_market(trend_, settings_.market.when_down);
}

}  // namespace brimwatch
