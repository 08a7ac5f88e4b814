#include "evening/review.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "core/rehearsal_mark.h"
#include "evening/deeds.h"
#include "evening/follow.h"
#include "evening/lookup.h"
#include "evening/summary.h"
#include "evening/troubles.h"
#include "evening/trusted.h"

namespace brimwatch {
namespace {

double percent(double a, double b) { return b > 0 ? 100 * (a / b - 1) : 0; }

const DayRecord* day_of(const ReviewInput& input, const std::string& symbol, Date day) {
  const auto found = input.days.find({symbol, day});
  return found == input.days.end() ? nullptr : &found->second;
}

/// The daily bar's volume, which is the whole tape's, brought to the shares that the notice counts in; without a bar the
/// feed's own count, which is in them already.
void fill_volume(const ReviewInput& input, const std::vector<DailyBar>& bars, Crossing& one) {
  const Notice& said = one.said.notice;
  if (const DailyBar* bar = bar_on(bars, said.day); bar && bar->volume > 0) {
    one.volume = bar->volume * part_of_tape(said.volume);
    one.official = true;
  } else if (const DayRecord* day = day_of(input, one.said.symbol, said.day); day && day->volume.micros > 0) {
    one.volume = day->volume.as_double();
  }
  // Where the feed's part of the tape is not known, normal is the whole tape's, and the feed's own count is not.
  const bool same_shares = one.official || said.volume.why_not != NoJudgement::ratio_unknown;
  const double normal = said.volume.normal.as_double();
  if (!one.volume || !same_shares || normal <= 0) return;
  one.surge = percent(*one.volume, normal);
  one.came = *one.surge >= said.volume.needed;
  one.in_interval = *one.volume >= said.volume.low && *one.volume <= said.volume.high;
}

void fill_close(const ReviewInput& input, const std::vector<DailyBar>& bars, Crossing& one) {
  const Notice& said = one.said.notice;
  if (const DailyBar* bar = bar_on(bars, said.day); bar && bar->close.is_set()) {
    one.close = bar->close;
  } else if (const DayRecord* day = day_of(input, one.said.symbol, said.day); day && day->close.is_set()) {
    one.close = day->close;
  }
  if (!one.close) return;
  one.closed = *one.close < said.pivot ? Side::under : *one.close > said.range_top ? Side::over : Side::inside;
}

/// The index from the close of one day to that of another, percent; empty where it has no bar on either.
std::optional<double> index_between(const ReviewInput& input, Date from, Date to) {
  const DailyBar *a = bar_on(input.index, from), *b = bar_on(input.index, to);
  if (a == nullptr || b == nullptr || !a->close.is_set() || !b->close.is_set()) return std::nullopt;
  return percent(b->close.as_double(), a->close.as_double());
}

Swing swing_of(const ReviewInput& input, const std::vector<DailyBar>& bars, int at, int span, const Notice& said) {
  double high = 0, low = 1e300;
  for (int k = at + 1; k <= at + span; ++k) {
    high = std::max(high, bars[static_cast<std::size_t>(k)].high.as_double());
    low = std::min(low, bars[static_cast<std::size_t>(k)].low.as_double());
  }
  const DailyBar& last = bars[static_cast<std::size_t>(at + span)];
  const double price = said.price.as_double();
  return {percent(high, price), percent(low, price), percent(last.close.as_double(), price),
          index_between(input, said.day, last.day)};
}

void fill_swings(const ReviewInput& input, const std::vector<DailyBar>& bars, Crossing& one) {
  if (one.said.notice.price.micros <= 0) return;
  const int at = last_bar_by(bars, one.said.notice.day);
  for (std::size_t i = 0; i < kSpans.size(); ++i) {
    if (at + kSpans[i] >= static_cast<int>(bars.size())) continue;  // those sessions have not all been yet
    one.after[i] = swing_of(input, bars, at, kSpans[i], one.said.notice);
  }
}

/// Which came first: 20 % up or 8 % down from the notice's price; the day itself counts by its close.
std::optional<CameFirst> first_of(const std::vector<DailyBar>& course, const Notice& said) {
  const int at = last_bar_by(course, said.day), end = std::min(at + kFollowedFor, static_cast<int>(course.size()) - 1);
  if (at < 0 || course[static_cast<std::size_t>(at)].day != said.day) return std::nullopt;
  for (int i = at; i <= end; ++i) {
    const DailyBar& bar = course[static_cast<std::size_t>(i)];
    if ((i == at ? bar.close : bar.low).micros * 100 <= said.price.micros * 92) return CameFirst::down8;
    if ((i == at ? bar.close : bar.high).micros * 10 >= said.price.micros * 12) return CameFirst::up20;
  }
  return end == at + kFollowedFor ? std::optional(CameFirst::neither) : std::nullopt;
}

NoticesByWatch by_watch(const ReviewInput& input) {
  NoticesByWatch out;
  for (const NoticeRecord& record : input.notices) out[{record.symbol, record.notice.pivot}].push_back(&record);
  return out;
}

/// The notices of the crossing's watch from the crossing on.
std::vector<const NoticeRecord*> sequel(const NoticesByWatch& watches, const NoticeRecord& crossing) {
  const auto& all = watches.at({crossing.symbol, crossing.notice.pivot});
  return {std::find(all.begin(), all.end(), &crossing), all.end()};
}

Crossing crossing_of(const ReviewInput& input, const NoticesByWatch& watches, const NoticeRecord& record) {
  Crossing one;
  one.said = record;
  if (const auto split = input.adjusted.find(record.id); split != input.adjusted.end()) one.adjusted = split->second;
  if (const auto by = input.speakers.find(record.id); by != input.speakers.end()) one.speaker = by->second;
  TrustedDays known = trusted_days(input, record);
  one.doubt = std::move(known.doubt);
  fill_volume(input, known.bars, one);
  fill_close(input, known.bars, one);
  fill_swings(input, known.bars, one);
  one.first = first_of(known.course, record.notice);
  one.followed = follow(sequel(watches, record), known.course, input.options.cost_percent);
  if (one.followed.taken) one.followed.index = index_between(input, record.notice.day, one.followed.sold_on);
  return one;
}

/// The sessions that crossings can be counted in: the index's, else those of any bar, and those of the notices.
std::vector<Date> sessions_of(const ReviewInput& input) {
  std::set<Date> out;
  const auto add = [&](const std::vector<DailyBar>& bars) {
    for (const DailyBar& bar : bars) {
      if (in_span(input.options, bar.day)) out.insert(bar.day);
    }
  };
  add(input.index);
  if (out.empty()) {
    for (const auto& [symbol, bars] : input.bars) add(bars);
  }
  for (const NoticeRecord& record : input.notices) {
    if (in_span(input.options, record.notice.day)) out.insert(record.notice.day);
  }
  return {out.begin(), out.end()};
}

}  // namespace

double part_of_tape(const VolumeView& volume) { return volume.feed_ratio > 0 ? volume.feed_ratio : 1; }

Review review(const ReviewInput& input) {
  Review out;
  out.options = input.options;
  out.sessions = sessions_of(input);
  out.has_index = !input.index.empty();
  out.base_rates = input.base_rates;
  const NoticesByWatch watches = by_watch(input);
  for (const NoticeRecord& record : input.notices) {
    if (!in_span(input.options, record.notice.day)) continue;
    out.rehearsal = out.rehearsal || is_rehearsal(record);
    if (record.notice.held) {
      ++out.held_back;
      continue;
    }
    ++out.notices;
    ++out.by_kind[static_cast<std::size_t>(record.notice.kind)];
    if (is_pivot_crossing(record.notice.kind)) out.crossings.push_back(crossing_of(input, watches, record));
  }
  sum_up(out);
  out.deeds = deeds_of(input);
  out.troubles = troubles_of(input, watches);
  return out;
}

}  // namespace brimwatch
