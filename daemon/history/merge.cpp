#include "history/merge.h"

#include <algorithm>
#include <cmath>

#include "core/shares.h"

namespace brimwatch {
namespace {

constexpr int kRatioDays = 3;         // a common ratio of fewer days may be chance
constexpr double kSameRatio = 0.004;  // in logs: prices are rounded to cents on both sides
constexpr std::size_t kChangesTold = 3;

bool is_own(const DailySeries& series, Date day) { return std::binary_search(series.own.begin(), series.own.end(), day); }

/// Splits are of small whole numbers, and prices rounded to cents only come near them.
double whole_ratio(double ratio) {
  for (int under = 1; under <= 30; ++under) {
    const double over = std::round(ratio * under);
    if (over >= 1 && std::abs(ratio * under / over - 1) < kSameRatio) return over / under;
  }
  return ratio;
}

/// The ratio by which all prices of days in both differ; 1 where there is none.
double common_ratio(const DailySeries& kept, const DailySeries& fresh) {
  std::vector<double> logs;
  for (const DailyBar& bar : fresh.bars) {
    const int at = last_bar_by(kept.bars, bar.day);
    if (at < 0 || is_own(kept, bar.day)) continue;
    const DailyBar& before = kept.bars[static_cast<std::size_t>(at)];
    if (before.day != bar.day || !before.close.is_set() || !bar.close.is_set()) continue;
    logs.push_back(std::log(before.close.as_double() / bar.close.as_double()));
  }
  if (static_cast<int>(logs.size()) < kRatioDays) return 1;
  const auto [least, most] = std::minmax_element(logs.begin(), logs.end());
  const double middle = (*least + *most) / 2;
  constexpr double kLeastSplit = 0.2;  // 5:4 is 0.22; less is a dividend, taken out of the past
  return *most - *least < kSameRatio && std::abs(middle) > kLeastSplit ? whole_ratio(std::exp(middle)) : 1;
}

bool differs(const DailyBar& a, const DailyBar& b) {
  return std::abs(a.volume - b.volume) > 0.5 || a.close != b.close || a.open != b.open || a.high != b.high ||
         a.low != b.low;
}

/// What the new row does not say stays as it was.
DailyBar filled(DailyBar fresh, const DailyBar& kept) {
  if (!fresh.open.is_set()) fresh.open = kept.open;
  if (!fresh.high.is_set()) fresh.high = kept.high;
  if (!fresh.low.is_set()) fresh.low = kept.low;
  if (!fresh.close.is_set()) fresh.close = kept.close;
  return fresh;
}

class Merger {
 public:
  Merger(const DailySeries& kept, const DailySeries& fresh, bool own) : kept_(kept), fresh_(fresh), own_(own) {}

  MergedDays run() {
    out_.series = kept_;
    out_.series.bars.clear();
    out_.ratio = own_ ? 1 : common_ratio(kept_, fresh_);
    std::size_t old = 0;
    for (const DailyBar& bar : fresh_.bars) {
      while (old < kept_.bars.size() && kept_.bars[old].day < bar.day) out_.series.bars.push_back(kept_.bars[old++]);
      const bool there = old < kept_.bars.size() && kept_.bars[old].day == bar.day;
      if (there) both(kept_.bars[old++], bar);
      else add(bar);
    }
    out_.series.bars.insert(out_.series.bars.end(), kept_.bars.begin() + static_cast<std::ptrdiff_t>(old),
                            kept_.bars.end());
    merge_splits();
    return std::move(out_);
  }

 private:
  void add(const DailyBar& bar) {
    ++out_.added;
    out_.series.bars.push_back(bar);
    auto& own = out_.series.own;
    if (own_) own.insert(std::upper_bound(own.begin(), own.end(), bar.day), bar.day);
  }

  void both(const DailyBar& before, const DailyBar& bar) {
    const bool was_own = is_own(kept_, before.day);
    if (own_ && !was_own) return out_.series.bars.push_back(before);
    if (!own_ && was_own) {
      ++out_.replaced_own;
      std::erase(out_.series.own, before.day);
    }
    const DailyBar after = filled(bar, before);
    if (!was_own && differs(before, after))
      out_.restated.push_back({bar.day, before.volume, after.volume, before.close, after.close});
    out_.series.bars.push_back(after);
  }

  void merge_splits() {
    auto& splits = out_.series.splits;
    for (const SplitOn& split : fresh_.splits) {
      const auto same =
          std::find_if(splits.begin(), splits.end(), [&](const SplitOn& one) { return one.day == split.day; });
      if (same != splits.end()) {
        same->ratio = split.ratio;
        continue;
      }
      splits.push_back(split);
      if (!kept_.bars.empty() && split.day > kept_.bars.back().day) out_.new_splits.push_back(split);
    }
    std::sort(splits.begin(), splits.end(), [](const SplitOn& a, const SplitOn& b) { return a.day < b.day; });
  }

  const DailySeries &kept_, &fresh_;
  const bool own_;
  MergedDays out_;
};

std::string count_of_days(int count, const char* what) {
  return std::to_string(count) + (count == 1 ? " day " : " days ") + what;
}

std::string change_in_words(const DayChange& change) {
  std::string text = to_string(change.day);
  if (std::abs(change.volume - change.volume_before) > 0.5)
    text += " volume " + brief(change.volume_before) + " to " + brief(change.volume);
  if (change.close != change.close_before)
    text += " close " + to_string(change.close_before) + " to " + to_string(change.close);
  return text;
}

}  // namespace

MergedDays merge_days(const DailySeries& kept, const DailySeries& fresh, bool fresh_is_own) {
  return Merger(kept, fresh, fresh_is_own).run();
}

void rescale_before(DailySeries& series, Date day, double ratio) {
  for (DailyBar& bar : series.bars) {
    if (bar.day >= day) break;
    for (Price* price : {&bar.open, &bar.high, &bar.low, &bar.close})
      price->micros = std::llround(static_cast<double>(price->micros) / ratio);
    bar.volume *= ratio;
  }
}

std::string in_words(const MergedDays& merged) {
  std::string out;
  const auto add = [&out](const std::string& part) { out += (out.empty() ? "" : "; ") + part; };
  if (merged.added > 0) add(count_of_days(merged.added, "added"));
  if (merged.replaced_own > 0) add(count_of_days(merged.replaced_own, "that were heard replaced by the source's"));
  if (merged.ratio != 1) {
    char text[96];
    std::snprintf(text, sizeof text, "all prices of the past restated by %.4g to 1, as a split would", merged.ratio);
    add(text);
  } else if (!merged.restated.empty()) {
    std::string text = count_of_days(static_cast<int>(merged.restated.size()), "of the past restated: ");
    for (std::size_t i = 0; i < std::min(merged.restated.size(), kChangesTold); ++i)
      text += (i > 0 ? ", " : "") + change_in_words(merged.restated[i]);
    if (merged.restated.size() > kChangesTold) text += " ...";
    add(text);
  }
  return out;
}

}  // namespace brimwatch
