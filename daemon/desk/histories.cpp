#include "desk/histories.h"

#include <algorithm>

#include "files/daily_file.h"
#include "files/text_file.h"
#include "history/merge.h"
#include "volume/learning/learned_file.h"

namespace brimwatch {

namespace {

constexpr std::size_t kDoubtsTold = 20;  // files; more are counted

std::vector<PriceEvent> splits_of(const DailySeries& series, const PriceEvents& events) {
  const auto found = events.find(series.symbol);
  auto out = found == events.end() ? std::vector<PriceEvent>{} : found->second;
  std::erase_if(out, [](const PriceEvent& event) { return !event.is_split(); });
  for (const SplitOn& split : series.splits) add_split(out, split);
  return out;
}

}  // namespace

int sessions_missing(const std::vector<DailyBar>& bars, Date day, const Calendar& calendar) {
  const int last = last_bar_by(bars, day - 1);
  if (last < 0) return 0;
  int missing = 0;
  const Date from = bars[static_cast<std::size_t>(last)].day;
  for (const Session* at = calendar.before(day); at != nullptr && at->day > from; at = calendar.before(at->day))
    ++missing;
  return missing;
}

Result<StockHistory> make_history(Result<DailySeries> series, const PriceEvents& events, const BarTrust& trust,
                                  int rows) {
  if (!series) return tl::unexpected(series.error());
  adjust_history(series->bars, splits_of(*series, events), 0);
  BarQuestion question{trust.checks};
  question.look_back = rows;
  if (trust.sessions_of) question.sessions = trust.sessions_of(series->symbol);
  StockHistory out;
  out.found = treat(*series, question);
  if (series->bars.empty() && !out.found.left_out.empty())
    return fail(series->symbol + ": " + in_words(out.found.left_out) + "; no row is left");
  out.bars = std::move(series->bars);
  out.own = std::move(series->own);
  return out;
}

Result<StockHistory> read_history(const std::string& path, const PriceEvents& events, const BarTrust& trust, int rows) {
  return make_history(read_daily(path, DailyRows::every), events, trust, rows);
}

void Histories::load(const std::string& daily, const std::string& learned, const std::deque<std::string>& symbols,
                     const PriceEvents& events, const BarTrust& trust, const std::string& heard) {
  daily_.clear();
  doubts_.clear();
  own_.clear();
  doubtful_ = 0;
  to_come_.clear();
  problems_.clear();
  if (!daily.empty() || !heard.empty()) load_daily(daily, symbols, events, trust, heard);
  if (!learned.empty()) load_learned(learned);
  learn_ratios();
}

void Histories::load_daily(const std::string& daily, const std::deque<std::string>& symbols, const PriceEvents& events,
                           const BarTrust& trust, const std::string& heard) {
  DailyStore store(daily), own(is_there(heard) ? heard : "");
  if (const Status folder = store.is_set() ? store.look() : Status(); !folder) {
    problems_.push_back(folder.error().text + "; normal volumes come from the watch lists only");
    store = DailyStore("");
  }
  for (const std::string& symbol : symbols) {
    const std::string path = store.file_of(symbol), own_path = own.file_of(symbol);
    if (path.empty() && own_path.empty()) continue;
    auto series = path.empty() ? own.read(symbol, DailyRows::every) : store.read(symbol, DailyRows::every);
    if (series && !path.empty() && !own_path.empty()) {
      if (const auto days = own.read(symbol, DailyRows::readable)) *series = merge_days(*series, *days, true).series;
    }
    auto history = make_history(std::move(series), events, trust, kVolumeRows);
    if (!history) {
      problems_.push_back(history.error().text);
      continue;
    }
    if (const auto known = events.find(symbol); known != events.end()) to_come_.insert(*known);
    tell_doubts(path.empty() ? own_path : path, history->found);
    if (!history->found.doubts.empty()) doubts_.emplace(symbol, in_words(history->found.doubts));
    if (!history->own.empty()) own_.emplace(symbol, std::move(history->own));
    daily_.emplace(symbol, std::move(history->bars));
  }
  if (doubtful_ > kDoubtsTold)
    problems_.push_back(std::to_string(doubtful_ - kDoubtsTold) +
                        " more files of doubtful daily bars; `brimwatch history check` lists all");
}

void Histories::tell_doubts(const std::string& file, const TrustedBars& found) {
  if (found.doubts.empty() && found.left_out.empty()) return;
  if (++doubtful_ > kDoubtsTold) return;
  if (!found.doubts.empty())
    problems_.push_back(file + ": doubtful daily bars: " + in_words(found.doubts) +
                        "; they are used, and it is said with what rests on them");
  if (!found.left_out.empty())
    problems_.push_back(file + ": doubtful daily bars: " + in_words(found.left_out) + "; left out");
}

const std::string& Histories::doubts(std::string_view symbol) const {
  static const std::string kNoDoubt;
  const auto found = doubts_.find(symbol);
  return found == doubts_.end() ? kNoDoubt : found->second;
}

const std::vector<Date>& Histories::own_days(std::string_view symbol) const {
  static const std::vector<Date> kNoDays;
  const auto found = own_.find(symbol);
  return found == own_.end() ? kNoDays : found->second;
}

double Histories::official_volume(std::string_view symbol, Date day) const {
  const std::vector<DailyBar>& bars = daily(symbol);
  const int at = last_bar_by(bars, day);
  if (at < 0 || bars[static_cast<std::size_t>(at)].day != day) return 0;
  const std::vector<Date>& own = own_days(symbol);
  return std::binary_search(own.begin(), own.end(), day) ? 0 : bars[static_cast<std::size_t>(at)].volume;
}

void Histories::load_learned(const std::string& path) {
  auto curves = read_learned(path);
  if (!curves) return void(problems_.push_back(curves.error().text));
  for (auto& [symbol, curve] : *curves) put_learned(symbol, curve);
  auto lifts = read_own_lifts(own_lift_file(path));
  if (!lifts) return void(problems_.push_back(lifts.error().text));
  own_lifts_ = std::move(*lifts);
}

void Histories::take(Histories&& loaded) {
  daily_ = std::move(loaded.daily_);
  doubts_ = std::move(loaded.doubts_);
  own_ = std::move(loaded.own_);
  to_come_ = std::move(loaded.to_come_);
  problems_ = std::move(loaded.problems_);
  for (auto& [symbol, learned] : loaded.learned_) {
    std::shared_ptr<const Learned>& here = learned_[symbol];
    if (here == nullptr || here->last_day <= learned->last_day) here = std::move(learned);
  }
  if (own_lifts_.empty() || (!loaded.own_lifts_.empty() && own_lifts_.back().since <= loaded.own_lifts_.back().since))
    own_lifts_ = std::move(loaded.own_lifts_);
  learn_ratios();
}

const std::vector<DailyBar>& Histories::daily(std::string_view symbol) const {
  static const std::vector<DailyBar> kNone;
  const auto found = daily_.find(symbol);
  return found == daily_.end() ? kNone : found->second;
}

std::vector<DailyBar> Histories::daily_for(std::string_view symbol, Date day, const Calendar& calendar) const {
  std::vector<DailyBar> bars = daily(symbol);
  if (bars.empty() || sessions_missing(bars, day, calendar) > kOldestSessions) return {};
  if (const auto known = to_come_.find(symbol); known != to_come_.end())
    put_in_terms(bars, terms_between(known->second, bars.back().day, day));
  return bars;
}

std::shared_ptr<const Learned> Histories::learned(std::string_view symbol) const {
  const auto found = learned_.find(symbol);
  return found == learned_.end() ? nullptr : found->second;
}

std::map<std::string, Learned, std::less<>> Histories::all_learned() const {
  std::map<std::string, Learned, std::less<>> all;
  for (const auto& [symbol, learned] : learned_) all.emplace(symbol, *learned);
  return all;
}

void Histories::put_learned(std::string_view symbol, Learned learned) {
  learned_.insert_or_assign(std::string(symbol), std::make_shared<const Learned>(std::move(learned)));
}

void Histories::take_feed_days(FeedDays days) {
  feed_days_ = std::move(days);
  learn_ratios();
}

void Histories::add_feed_day(const std::string& symbol, const FeedDay& day) {
  constexpr std::size_t kMost = 30;
  auto& days = feed_days_[symbol];
  std::erase_if(days, [&](const FeedDay& one) { return one.day == day.day; });  // a correction writes a day again
  days.push_back(day);
  if (days.size() > kMost) days.erase(days.begin());
}

void Histories::learn_ratios() {
  for (const auto& [symbol, days] : feed_days_) {
    std::vector<DailyBar> official = daily(symbol);
    const std::vector<Date>& own = own_days(symbol);  // what we heard says nothing of what we did not hear
    std::erase_if(official, [&](const DailyBar& bar) { return std::binary_search(own.begin(), own.end(), bar.day); });
    if (official.empty()) continue;
    const std::shared_ptr<const Learned> known = learned(symbol);
    Learned fresh = known != nullptr ? *known : Learned{};
    brimwatch::learn_ratios(fresh, days, official);
    const bool first = known == nullptr || known->ratio_days == 0;
    if (fresh.ratio_days > 0 || (first && fresh.ratio_doubt)) put_learned(symbol, std::move(fresh));
  }
}

const Curve& Histories::usual_curve() const {
  constexpr int kFewDays = 5, kFewSymbols = 3;
  constexpr double kNoAuction = 0.05, kNearlyAll = 0.8;
  int known = 0, without = 0;
  for (const auto& [symbol, one] : learned_) {
    if (one->days < kFewDays) continue;
    ++known;
    without += one->curve.auction < kNoAuction;
  }
  return known >= kFewSymbols && without >= kNearlyAll * known ? default_curve_without_auction() : default_curve();
}

}  // namespace brimwatch
