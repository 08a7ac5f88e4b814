#include "evening/adjust.h"

#include <cmath>

namespace brimwatch {
namespace {

constexpr double kNoDividend = 101;  // percent of the close: none is that large

std::vector<PriceEvent> splits_of(const std::vector<PriceEvent>& events) {
  std::vector<PriceEvent> out;
  for (const PriceEvent& event : events) {
    if (event.is_split()) out.push_back(event);
  }
  return out;
}

void scale(Price& price, double factor) { price = in_terms(price, factor, Price{1}); }
void scale(Shares& shares, double factor) { shares = Shares{std::llround(static_cast<double>(shares.micros) * factor)}; }

void scale(Notice& notice, const Terms& terms) {
  for (Price* price : {&notice.price, &notice.price_before, &notice.pivot, &notice.range_top, &notice.loss_limit})
    scale(*price, terms.price_factor);
  VolumeView& volume = notice.volume;
  scale(volume.so_far, terms.volume_factor);
  scale(volume.normal, terms.volume_factor);
  for (double* shares : {&volume.projected, &volume.low, &volume.high}) *shares *= terms.volume_factor;
}

void scale(DayRecord& day, const Terms& terms) {
  for (Price* price : {&day.open, &day.high, &day.low, &day.close}) scale(*price, terms.price_factor);
  scale(day.volume, terms.volume_factor);
}

}  // namespace

void adjust_bars(std::vector<DailyBar>& bars, const std::vector<PriceEvent>& events) {
  adjust_history(bars, splits_of(events), kNoDividend);
}

void adjust_to_last_bar(ReviewInput& input, const PriceEvents& events) {
  for (auto& [symbol, bars] : input.bars) {
    const auto found = events.find(symbol);
    if (found == events.end() || bars.empty()) continue;
    const auto splits = splits_of(found->second);
    const Date last = bars.back().day;
    adjust_history(bars, splits, kNoDividend);
    for (NoticeRecord& record : input.notices) {
      if (record.symbol != symbol) continue;
      const Terms terms = terms_between(splits, record.notice.day, last);
      if (terms.told.empty()) continue;
      scale(record.notice, terms);
      input.adjusted[record.id] = terms.told;
    }
    for (Answer& answer : input.answers) {
      if (answer.symbol != symbol) continue;
      const Terms terms = terms_between(splits, answer.day, last);
      scale(answer.price, terms.price_factor);
      scale(answer.pivot, terms.price_factor);
      scale(answer.shares, terms.volume_factor);
    }
    for (auto& [key, day] : input.days) {
      if (key.first == symbol) scale(day, terms_between(splits, key.second, last));
    }
  }
}

}  // namespace brimwatch
