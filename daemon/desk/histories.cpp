#include "desk/histories.h"

#include <filesystem>

#include "volume/learned_file.h"

namespace brimwatch {

void Histories::load(const std::string& directory, const std::string& learned, const std::deque<std::string>& symbols) {
  daily_.clear();
  problems_.clear();
  if (!directory.empty() && !std::filesystem::is_directory(directory)) {
    problems_.push_back(directory +
                        ": there is no such directory of daily bars; normal volumes come from the watch lists only");
  } else if (!directory.empty()) {
    for (const std::string& symbol : symbols) {
      // A symbol is hostile input: it must not climb out of the directory.
      if (symbol.find('/') != std::string::npos || symbol.empty() || symbol.front() == '.') continue;
      const std::string path = directory + "/" + symbol + ".csv";
      if (!std::filesystem::exists(path)) continue;
      auto bars = read_daily(path);
      if (bars) daily_.emplace(symbol, std::move(*bars));
      else problems_.push_back(bars.error().text);
    }
  }
  if (!learned.empty()) load_learned(learned);
  learn_ratios();
}

void Histories::load_learned(const std::string& path) {
  auto curves = read_learned(path);
  if (!curves) return void(problems_.push_back(curves.error().text));
  for (auto& [symbol, curve] : *curves) put_learned(symbol, curve);
}

void Histories::take(Histories&& loaded) {
  daily_ = std::move(loaded.daily_);
  problems_ = std::move(loaded.problems_);
  for (auto& [symbol, learned] : loaded.learned_) {
    std::shared_ptr<const Learned>& here = learned_[symbol];
    if (here == nullptr || here->last_day <= learned->last_day) here = std::move(learned);
  }
  learn_ratios();
}

const std::vector<DailyBar>& Histories::daily(std::string_view symbol) const {
  static const std::vector<DailyBar> kNone;
  const auto found = daily_.find(symbol);
  return found == daily_.end() ? kNone : found->second;
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
    const std::vector<DailyBar>& official = daily(symbol);
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
