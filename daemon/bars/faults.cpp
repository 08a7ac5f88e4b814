#include "bars/faults.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "bars/steps.h"

namespace brimwatch {
namespace {

using BarsSpan = std::span<const DailyBar>;

constexpr std::int64_t kWholeInMicros = 100'000'000;  // 100 %, in millionths of a percent
constexpr int kAround = 20;                           // bars whose ranges say what is usual
constexpr int kUsualRanges = 3;                       // a spike stands out by more of them

BarTreatment treatment_of(const BarChecks& checks, BarFault fault) {
  switch (fault) {
    case BarFault::spike:
      return checks.spike;
    case BarFault::split:
      return checks.split;
    case BarFault::missing:
      return checks.missing;
    case BarFault::still:
      return checks.still;
    case BarFault::repeat:
      return checks.repeat;
    case BarFault::stale:
      return checks.stale;
    case BarFault::other:
      return checks.other;
  }
  return BarTreatment::doubt;
}

const DailyBar& at(BarsSpan bars, int i) { return bars[static_cast<std::size_t>(i)]; }
int count_of(BarsSpan bars) { return static_cast<int>(bars.size()); }

/// Median range of the bars round this one, in millionths of the currency.
std::int64_t usual_range(BarsSpan bars, int i) {
  std::array<std::int64_t, 2 * kAround> ranges{};
  std::size_t count = 0;
  for (int near = std::max(0, i - kAround); near < std::min(count_of(bars), i + kAround); ++near) {
    if (near != i) ranges[count++] = at(bars, near).high.micros - at(bars, near).low.micros;
  }
  if (count == 0) return 0;
  std::nth_element(ranges.begin(), ranges.begin() + static_cast<std::ptrdiff_t>(count / 2),
                   ranges.begin() + static_cast<std::ptrdiff_t>(count));
  return ranges[count / 2];
}

std::int64_t with_percent(std::int64_t micros, std::int64_t percent) {
  return micros + static_cast<std::int64_t>(static_cast<double>(micros) * static_cast<double>(percent) /
                                            static_cast<double>(kWholeInMicros));
}

/// The price that stands out, above or below all that is near it; not set for none.
Price spike_at(BarsSpan bars, int i, std::int32_t percent) {
  const DailyBar& bar = at(bars, i);
  std::int64_t top = std::max(bar.open, bar.close).micros, bottom = std::min(bar.open, bar.close).micros;
  const bool high = bar.high.micros > with_percent(top, percent);
  const bool low = with_percent(bar.low.micros, percent) < bottom;
  if (!high && !low) return {};  // nearly every bar
  for (const int near : {i - 1, i + 1}) {
    if (near < 0 || near >= count_of(bars)) continue;
    top = std::max(top, at(bars, near).high.micros);
    bottom = std::min(bottom, at(bars, near).low.micros);
  }
  const std::int64_t usual = usual_range(bars, i) * kUsualRanges;
  if (high && bar.high.micros > std::max(with_percent(top, percent), top + usual)) return bar.high;
  if (low && with_percent(bar.low.micros, percent) < bottom && bar.low.micros < bottom - usual) return bar.low;
  return {};
}

bool is_repeat(BarsSpan bars, int i) {
  if (i == 0) return false;
  const DailyBar &bar = at(bars, i), &before = at(bars, i - 1);
  return bar.volume > 0 && bar.volume == before.volume && bar.close == before.close && bar.open == before.open &&
         bar.high == before.high && bar.low == before.low && (bar.close.is_set() || bar.volume > 10'000);
}

/// A source that stands still repeats some rows; where most of them are alike, they were made so.
bool has_repeats(BarsSpan bars) {
  int count = 0;
  for (int i = 1; i < count_of(bars); ++i) count += is_repeat(bars, i) ? 1 : 0;
  return count > 0 && 2 * count < count_of(bars);
}

bool is_still(BarsSpan bars, int i) { return at(bars, i).volume <= 0; }

std::string days_phrase(const char* what, int count, Date last) {
  if (count == 1) return std::string(what) + " on " + to_string(last);
  return std::string(what) + " on " + std::to_string(count) + " days, the last " + to_string(last);
}

void add_days(std::vector<BarFinding>& out, BarFault fault, const char* what, std::vector<Date> days) {
  if (days.empty()) return;
  const Date last = days.back();
  const int count = static_cast<int>(days.size());
  out.push_back({fault, last, count, days_phrase(what, count, last), std::move(days)});
}

/// One finding of all rows of which `is` holds.
template <typename Is>
void add_rows(std::vector<BarFinding>& out, BarFault fault, BarsSpan bars, int from, const char* what, Is is) {
  std::vector<Date> days;
  for (int i = from; i < count_of(bars); ++i)
    if (is(i)) days.push_back(at(bars, i).day);
  add_days(out, fault, what, std::move(days));
}

void add_spikes(std::vector<BarFinding>& out, BarsSpan bars, int from, std::int32_t percent) {
  std::vector<Date> days;
  Price price;
  for (int i = from; i < count_of(bars); ++i) {
    const Price found = spike_at(bars, i, percent);
    if (!found.is_set()) continue;
    days.push_back(at(bars, i).day);
    price = found;
  }
  if (days.empty()) return;
  const Date last = days.back();
  const int count = static_cast<int>(days.size());
  std::string text = "a price of " + to_string(price) + " on " + to_string(last) + ", far from its neighbours";
  if (count > 1) text += ", and " + std::to_string(count - 1) + " more of the kind";
  out.push_back({BarFault::spike, last, count, std::move(text), std::move(days)});
}

/// Index of the last step into a bar; 0: none.
int last_step(BarsSpan bars, int from) {
  for (int i = count_of(bars) - 1; i > from; --i) {
    if (step_at(bars, i).ratio != 0) return i;
  }
  return 0;
}

void add_step(std::vector<BarFinding>& out, BarsSpan bars, int from) {
  const int i = last_step(bars, from);
  if (i == 0) return;
  const BarStep step = step_at(bars, i);
  std::string text = "from " + to_string(at(bars, i - 1).close) + " to " + to_string(at(bars, i).open) + " on " +
                     to_string(at(bars, i).day);
  text += *step.name != '\0' ? std::string(": an unreported ") + step.name + " split?" : ": another unit?";
  std::vector<Date> days;
  for (int one = std::max(from, 0) + 1; one <= i; ++one)
    if (step_at(bars, one).ratio != 0) days.push_back(at(bars, one).day);
  out.push_back({BarFault::split, at(bars, i).day, 1, std::move(text), std::move(days)});
}

void add_missing(std::vector<BarFinding>& out, BarsSpan bars, int from, std::span<const Date> sessions) {
  if (from >= count_of(bars)) return;
  int row = from;
  std::vector<Date> missing;
  auto session = std::lower_bound(sessions.begin(), sessions.end(), at(bars, from).day);
  for (; session != sessions.end() && *session <= bars.back().day; ++session) {
    while (at(bars, row).day < *session) ++row;
    if (at(bars, row).day == *session) continue;
    missing.push_back(*session);
  }
  add_days(out, BarFault::missing, "no row", std::move(missing));
}

void add_stale(std::vector<BarFinding>& out, BarsSpan bars, const BarQuestion& question) {
  if (!question.last_session || bars.empty() || bars.back().day >= *question.last_session) return;
  const auto after = std::upper_bound(question.sessions.begin(), question.sessions.end(), bars.back().day);
  const auto end = std::upper_bound(after, question.sessions.end(), *question.last_session);
  const int count = std::max(1, static_cast<int>(end - after));
  out.push_back({BarFault::stale,
                 bars.back().day,
                 count,
                 "the rows end " + to_string(bars.back().day) + ", " + std::to_string(count) +
                     (count == 1 ? " session" : " sessions") + " before the last",
                 {}});
}

template <typename Is>
int take_out(std::vector<DailyBar>& bars, Is is) {
  std::vector<bool> bad(bars.size());
  for (int i = 0; i < count_of(bars); ++i) bad[static_cast<std::size_t>(i)] = is(i);
  std::size_t kept = 0;
  for (std::size_t i = 0; i < bars.size(); ++i) {
    if (!bad[i]) bars[kept++] = bars[i];
  }
  const int gone = static_cast<int>(bars.size() - kept);
  bars.resize(kept);
  return gone;
}

void leave_out(DailySeries& series, const BarFinding& finding, const BarChecks& checks) {
  std::vector<DailyBar>& bars = series.bars;
  switch (finding.fault) {
    case BarFault::spike:
      take_out(bars, [&](int i) { return spike_at(bars, i, checks.spike_percent).is_set(); });
      return;
    case BarFault::split:
      bars.erase(bars.begin(), bars.begin() + last_step(bars, 0));
      return;
    case BarFault::still:
      take_out(bars, [&](int i) { return is_still(bars, i); });
      return;
    case BarFault::repeat:
      take_out(bars, [&](int i) { return is_repeat(bars, i); });
      return;
    case BarFault::other:
    case BarFault::stale:
      bars.clear();
      return;
    case BarFault::missing:
      return;  // a row that is not there cannot be left out
  }
}

}  // namespace

const char* to_string(BarFault fault) {
  constexpr std::array<const char*, kBarFaults> kFaultNames = {"spike",  "split", "missing", "still",
                                                               "repeat", "stale", "other"};
  return kFaultNames[static_cast<std::size_t>(fault)];
}

std::vector<BarFinding> find_faults(const DailySeries& series, const BarQuestion& question) {
  std::vector<BarFinding> out;
  const BarsSpan bars = series.bars;
  const int from = question.look_back > 0 ? std::max(0, count_of(bars) - question.look_back) : 0;
  if (!series.told_symbol.empty())
    out.push_back({BarFault::other,
                   bars.empty() ? Date{} : bars.back().day,
                   count_of(bars),
                   "its rows are of " + series.told_symbol,
                   {}});
  if (has_repeats(bars))
    add_rows(out, BarFault::repeat, bars, from, "a row that repeats the one before",
             [&](int i) { return is_repeat(bars, i); });
  add_rows(out, BarFault::still, bars, from, "no volume", [&](int i) { return is_still(bars, i); });
  if (series.has_prices) add_spikes(out, bars, from, question.checks.spike_percent);
  if (series.has_prices) add_step(out, bars, from);
  add_missing(out, bars, from, question.sessions);
  add_stale(out, bars, question);
  return out;
}

std::optional<BarFinding> rows_of_closed_days(const DailySeries& series, std::span<const Date> sessions) {
  if (sessions.empty()) return std::nullopt;
  std::vector<Date> closed;
  for (const DailyBar& bar : series.bars) {
    if (bar.day < sessions.front() || bar.day > sessions.back()) continue;
    if (!std::binary_search(sessions.begin(), sessions.end(), bar.day)) closed.push_back(bar.day);
  }
  std::vector<BarFinding> out;
  add_days(out, BarFault::missing, "the exchange was closed, and there is a row", std::move(closed));
  return out.empty() ? std::nullopt : std::optional(std::move(out.front()));
}

TrustedBars treat(DailySeries& series, const BarQuestion& question) {
  TrustedBars out;
  BarQuestion everywhere = question;
  everywhere.look_back = 0;
  const std::vector<BarFinding> near = find_faults(series, question), all = find_faults(series, everywhere);
  for (const BarFinding& finding : all) {
    const BarTreatment wanted = treatment_of(question.checks, finding.fault);
    if (wanted == BarTreatment::leave_out && finding.fault != BarFault::missing)
      leave_out(series, finding, question.checks);
  }
  for (const BarFinding& finding : near) {
    const BarTreatment wanted = treatment_of(question.checks, finding.fault);
    const bool gone = wanted == BarTreatment::leave_out && finding.fault != BarFault::missing;
    if (gone) out.left_out.push_back(finding);
    else if (wanted != BarTreatment::use) out.doubts.push_back(finding);
  }
  return out;
}

std::string in_words(const std::vector<BarFinding>& findings) {
  std::string out;
  for (const BarFinding& finding : findings) out += (out.empty() ? "" : "; ") + finding.text;
  return out;
}

}  // namespace brimwatch
