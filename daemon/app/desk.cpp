#include "app/desk.h"

#include <utility>

#include "app/market.h"
#include "core/wording.h"

namespace brimwatch {
namespace {

EngineOptions options_of(const Settings& settings) {
  EngineOptions options;
  options.trend = settings.market.trend;
  options.when_down = settings.market.when_down;
  options.extended_volume = settings.session.extended_volume;
  if (!settings.feeds.empty()) {
    options.late_after = std::chrono::duration_cast<std::chrono::nanoseconds>(settings.feeds.front().late_after).count();
  }
  return options;
}

std::vector<std::string> distinct_symbols(const Settings& settings) {
  std::set<std::string> names;
  for (const Watch& watch : settings.watches) names.insert(watch.symbol);
  return {names.begin(), names.end()};
}

}  // namespace

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

Status Desk::load_calendars(const Settings& settings) {
  calendars_.clear();
  watch_calendars_.clear();
  const auto get = [&](std::string_view mic) -> Result<std::shared_ptr<const Calendar>> {
    const auto found = calendars_.find(mic);
    if (found != calendars_.end()) return found->second;
    auto loaded = Calendar::load(mic, settings.session.calendar_files);
    if (loaded) calendars_.emplace(std::string(mic), *loaded);
    return loaded;
  };
  const auto main = get(settings.session.calendar);
  if (!main) return fail(main.error().text);
  main_calendar_ = *main;
  watch_calendars_.reserve(settings.watches.size());
  for (const Watch& watch : settings.watches) {
    const auto calendar = watch.calendar.empty() ? main : get(watch.calendar);
    if (!calendar) return fail(calendar.error().text);
    watch_calendars_.push_back(*calendar);
  }
  return {};
}

Status Desk::apply(Settings settings) {
  problems_.clear();
  if (const auto loaded = load_calendars(settings); !loaded) return loaded;
  histories_.load(settings.history.daily, settings.history.learned, distinct_symbols(settings));
  usual_curve_ = &histories_.usual_curve();
  problems_ = histories_.problems();
  remarks_.load(settings.history, problems_);
  index_.clear();
  if (!settings.market.index.empty()) {
    auto bars = read_daily(settings.market.index);
    if (bars) index_ = std::move(*bars);
    else problems_.push_back(bars.error().text);
  }
  settings_ = std::move(settings);
  trend_ = settings_.market.trend;
  engine_->set_market(trend_, settings_.market.when_down);
  engine_->set_watches(settings_.watches, watch_calendars_);
  return {};
}

const Calendar& Desk::calendar(std::uint32_t watch) const {
  return watch < watch_calendars_.size() ? *watch_calendars_[watch] : *main_calendar_;
}

NoticeRecord Desk::word(Notice notice) const {
  WordingContext context;
  const std::uint32_t watch = notice.watch;
  context.symbol = symbols_.name(notice.symbol);
  std::string note = watch < settings_.watches.size() ? settings_.watches[watch].note : std::string();
  const std::string remark =
      remarks_.at(notice, context.symbol, calendar(watch), histories_.daily(context.symbol), index_);
  if (!remark.empty()) note += (note.empty() ? "" : "; ") + remark;
  context.note = note;
  context.offset = calendar(watch).offset(notice.time);
  return brimwatch::word(std::move(notice), context);
}

DayPlan Desk::plan(SymbolId symbol, std::uint32_t watch, const Session& session) const {
  const std::string_view name = symbols_.name(symbol);
  const std::optional<Shares> given =
      watch < settings_.watches.size() ? settings_.watches[watch].normal_volume : std::nullopt;
  DayPlan plan = make_plan(session, histories_.daily(name), histories_.learned(name), given, calendar(watch));
  if (plan.curve == nullptr) plan.curve = usual_curve_;
  return plan;
}

void Desk::begin_day(Date day) {
  if (settings_.market.trend != Trend::unknown || index_.empty()) return;
  trend_ = trend_before(index_, day);
  engine_->set_market(trend_, settings_.market.when_down);
}

}  // namespace brimwatch
