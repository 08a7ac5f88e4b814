#include "evening/review.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <set>

#include "evening/follow.h"

namespace brimwatch {
namespace {

double percent(double a, double b) { return b > 0 ? 100 * (a / b - 1) : 0; }

const std::vector<DayBar>* bars_of(const ReviewInput& input, const std::string& symbol) {
  const auto found = input.bars.find(symbol);
  return found == input.bars.end() ? nullptr : &found->second;
}

const DayBar* bar_on(const ReviewInput& input, const std::string& symbol, Date day) {
  const auto* bars = bars_of(input, symbol);
  const int at = bars ? last_bar_by(*bars, day) : -1;
  if (at < 0) return nullptr;
  const DayBar& bar = (*bars)[static_cast<std::size_t>(at)];
  return bar.day == day ? &bar : nullptr;
}

const DayRecord* day_of(const ReviewInput& input, const std::string& symbol, Date day) {
  const auto found = input.days.find({symbol, day});
  return found == input.days.end() ? nullptr : &found->second;
}

bool in_span(const ReviewOptions& options, Date day) { return day >= options.from && day <= options.to; }

bool is_crossing(NoticeKind kind) { return kind == NoticeKind::crossed || kind == NoticeKind::opened_over; }

/// The daily bar's volume, which is the whole tape's, brought to the shares that the notice counts in; without a bar the
/// feed's own count, which is in them already.
void fill_volume(const ReviewInput& input, Crossing& one) {
  const Notice& said = one.said.notice;
  if (const DayBar* bar = bar_on(input, one.said.symbol, said.day); bar && bar->volume > 0) {
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

void fill_close(const ReviewInput& input, Crossing& one) {
  const Notice& said = one.said.notice;
  if (const DayBar* bar = bar_on(input, one.said.symbol, said.day); bar && bar->close.is_set()) {
    one.close = bar->close;
  } else if (const DayRecord* day = day_of(input, one.said.symbol, said.day); day && day->close.is_set()) {
    one.close = day->close;
  }
  if (!one.close) return;
  one.closed = *one.close < said.pivot ? Side::under : *one.close > said.range_top ? Side::over : Side::inside;
}

void fill_swings(const ReviewInput& input, Crossing& one) {
  const auto* bars = bars_of(input, one.said.symbol);
  if (bars == nullptr) return;
  const int at = last_bar_by(*bars, one.said.notice.day);
  const double price = one.said.notice.price.as_double();
  if (price <= 0) return;
  for (std::size_t i = 0; i < kSpans.size(); ++i) {
    if (at + kSpans[i] >= static_cast<int>(bars->size())) continue;  // those sessions have not all been yet
    double high = 0, low = 1e300;
    for (int k = at + 1; k <= at + kSpans[i]; ++k) {
      high = std::max(high, (*bars)[static_cast<std::size_t>(k)].high.as_double());
      low = std::min(low, (*bars)[static_cast<std::size_t>(k)].low.as_double());
    }
    one.after[i] = Swing{percent(high, price), percent(low, price)};
  }
}

using ByWatch = std::map<std::pair<std::string, Price>, std::vector<const NoticeRecord*>>;

ByWatch by_watch(const ReviewInput& input) {
  ByWatch out;
  for (const NoticeRecord& record : input.notices) out[{record.symbol, record.notice.pivot}].push_back(&record);
  return out;
}

/// The notices of the crossing's watch on its day, from the crossing on.
std::vector<const NoticeRecord*> sequel(const ByWatch& watches, const NoticeRecord& crossing) {
  std::vector<const NoticeRecord*> out;
  bool begun = false;
  for (const NoticeRecord* record : watches.at({crossing.symbol, crossing.notice.pivot})) {
    begun = begun || record == &crossing;
    if (begun && record->notice.day == crossing.notice.day) out.push_back(record);
  }
  return out;
}

WeightGroup group_of(const std::vector<Crossing>& crossings, Weight weight) {
  WeightGroup group{weight, 0, 0, 0, 0, 0, {}, {}};
  for (const Crossing& one : crossings) {
    if (one.said.notice.volume.weight != weight) continue;
    ++group.count;
    group.decided += one.came.has_value();
    group.came += one.came.value_or(false);
    group.closed_known += one.close.has_value();
    group.held_pivot += one.close && one.closed != Side::under;
  }
  group.came_between = wilson_interval(group.came, group.decided);
  group.held_between = wilson_interval(group.held_pivot, group.closed_known);
  return group;
}

void sum_up_odds(Review& out) {
  std::vector<JudgedOdds> judged;
  for (const Crossing& one : out.crossings) {
    const VolumeView& volume = one.said.notice.volume;
    if (!one.came || volume.weight == Weight::unknown) continue;
    judged.push_back({one.said.notice.day, volume.odds, *one.came});
    if (volume.high <= 0) continue;
    ++out.with_interval;
    out.in_interval += one.in_interval;
  }
  out.reliability = judge_reliability(judged);
}

void sum_up_followed(Review& out) {
  std::vector<double> results;
  FollowSummary& sum = out.followed;
  for (const Crossing& one : out.crossings) {
    if (!one.followed.taken) continue;
    ++sum.taken;
    sum.held += one.followed.held;
    sum.at_limit += one.followed.at_limit;
    if (one.followed.held) continue;
    results.push_back(one.followed.result);
    sum.won += one.followed.result > 0;
  }
  sum.closed = static_cast<int>(results.size());
  sum.won_between = wilson_interval(sum.won, sum.closed);
  if (results.empty()) return;
  std::sort(results.begin(), results.end());
  for (const double result : results) sum.mean += result / static_cast<double>(results.size());
  const std::size_t middle = results.size() / 2;
  sum.median = results.size() % 2 ? results[middle] : (results[middle - 1] + results[middle]) / 2;
  sum.worst = results.front();
  sum.best = results.back();
}

std::string seconds_text(Nanos span) {
  char text[40];
  const double seconds = static_cast<double>(span) / 1e9;
  std::snprintf(text, sizeof text, seconds < 120 ? "%.0f s" : "%.0f min", seconds < 120 ? seconds : seconds / 60);
  return text;
}

void delivery_trouble(const NoticeRecord& record, const DeliveryRow& row, int late_seconds,
                      std::vector<DayTrouble>& out) {
  DayTrouble trouble{DayTrouble::Kind::not_delivered, record.notice.day, record.symbol, record.id, row.channel, {}};
  const std::string reply = row.reply.empty() ? "" : ": " + row.reply;
  switch (row.state) {
    case DeliveryState::delivered: {
      const Nanos took = row.done - record.notice.time;
      if (!row.done.is_set() || took <= late_seconds * kSecond) return;
      trouble.kind = DayTrouble::Kind::late;
      trouble.why = "arrived " + seconds_text(took) + " after it happened";
      if (row.attempts > 1) trouble.why += ", at attempt " + std::to_string(row.attempts);
      break;
    }
    case DeliveryState::expired:
      trouble.why = "given up because it had become too old, after " + std::to_string(row.attempts) + " attempts" + reply;
      break;
    case DeliveryState::dead:
      trouble.why = "refused for good" + reply;
      break;
    case DeliveryState::unknown:
      trouble.why = "nobody knows whether it arrived" + reply;
      break;
    case DeliveryState::pending:
    case DeliveryState::sending:
      trouble.why = "still waiting after " + std::to_string(row.attempts) + " attempts" + reply;
      break;
  }
  out.push_back(std::move(trouble));
}

void delivery_troubles(const ReviewInput& input, std::vector<DayTrouble>& out) {
  for (const NoticeRecord& record : input.notices) {
    if (!in_span(input.options, record.notice.day)) continue;
    const auto rows = input.deliveries.find(record.id);
    if (rows == input.deliveries.end()) continue;
    for (const DeliveryRow& row : rows->second) delivery_trouble(record, row, input.options.late_seconds, out);
  }
}

void blind_troubles(const ReviewInput& input, std::vector<DayTrouble>& out) {
  for (const NoticeRecord& record : input.notices) {
    if (!record.notice.in_hole || !in_span(input.options, record.notice.day)) continue;
    std::string why = "happened while the feed was blind; told when it saw again";
    for (const Hole& hole : input.holes) {
      if (hole.to > record.notice.time || record.notice.time - hole.to > kHour) continue;
      if (!hole.symbol.empty() && hole.symbol != record.symbol) continue;
      why = "happened while " + hole.feed + " was blind for " + seconds_text(hole.to - hole.from) +
            (hole.why.empty() ? "" : ": " + hole.why);
    }
    out.push_back({DayTrouble::Kind::blind, record.notice.day, record.symbol, record.id, {}, why});
  }
}

/// Was the watch armed on the morning of bar `i`? After a crossing it is not, until the price has been down to the re-arm
/// level. Of the crossing's own day only the close is known to come after it.
bool armed(const std::vector<DayBar>& bars, std::size_t i, const ReviewWatch& watch, std::optional<Date> last_crossing) {
  if (!last_crossing || !watch.rearm_level.is_set()) return true;
  for (std::size_t k = i; k-- > 0 && bars[k].day >= *last_crossing;) {
    if ((bars[k].day == *last_crossing ? bars[k].close : bars[k].low) <= watch.rearm_level) return true;
  }
  return false;
}

DayTrouble missed(const ReviewInput& input, const ReviewWatch& watch, const DayBar& bar) {
  const bool known = day_of(input, watch.symbol, bar.day) != nullptr;
  std::string why =
      "the high of " + to_string(bar.high) + " passed the pivot " + to_string(watch.pivot) + " and no notice said so; ";
  why += known ? "the feed was up that day: was it an odd lot, an auction or a cancelled trade?"
               : "the feed has no record of that day";
  return {DayTrouble::Kind::missed, bar.day, watch.symbol, {}, {}, std::move(why)};
}

/// Days whose bar passed the pivot from a close under it, and of which no notice said so though the watch was armed.
void missed_of(const ReviewInput& input, const ReviewWatch& watch, const std::vector<const NoticeRecord*>& notices,
               std::vector<DayTrouble>& out) {
  std::set<Date> told;
  for (const NoticeRecord* record : notices) {
    if (is_crossing(record->notice.kind)) told.insert(record->notice.day);
  }
  const auto* bars = bars_of(input, watch.symbol);
  for (std::size_t i = 1; bars != nullptr && i < bars->size(); ++i) {
    const DayBar& bar = (*bars)[i];
    if (!in_span(input.options, bar.day) || (watch.from && bar.day < *watch.from) ||
        (watch.until && bar.day > *watch.until))
      continue;
    if (bar.high < watch.pivot || (*bars)[i - 1].close >= watch.pivot || told.contains(bar.day)) continue;
    const auto next = told.lower_bound(bar.day);
    const auto last = next == told.begin() ? std::nullopt : std::optional<Date>(*std::prev(next));
    if (armed(*bars, i, watch, last)) out.push_back(missed(input, watch, bar));
  }
}

void missed_troubles(const ReviewInput& input, const ByWatch& watches, std::vector<DayTrouble>& out) {
  static const std::vector<const NoticeRecord*> kNone;
  for (const ReviewWatch& watch : input.watches) {
    const auto notices = watches.find({watch.symbol, watch.pivot});
    missed_of(input, watch, notices == watches.end() ? kNone : notices->second, out);
  }
}

}  // namespace

std::string_view to_string(DayTrouble::Kind kind) {
  switch (kind) {
    case DayTrouble::Kind::missed:
      return "missed";
    case DayTrouble::Kind::not_delivered:
      return "not delivered";
    case DayTrouble::Kind::late:
      return "late";
    case DayTrouble::Kind::blind:
      return "blind";
  }
  return "";
}

double part_of_tape(const VolumeView& volume) { return volume.feed_ratio > 0 ? volume.feed_ratio : 1; }

Review review(const ReviewInput& input) {
  Review out;
  out.options = input.options;
  const ByWatch watches = by_watch(input);
  for (const NoticeRecord& record : input.notices) {
    if (!in_span(input.options, record.notice.day)) continue;
    ++out.notices;
    ++out.by_kind[static_cast<std::size_t>(record.notice.kind)];
    if (!is_crossing(record.notice.kind)) continue;
    Crossing one;
    one.said = record;
    if (const auto split = input.adjusted.find(record.id); split != input.adjusted.end()) one.adjusted = split->second;
    fill_volume(input, one);
    fill_close(input, one);
    fill_swings(input, one);
    one.followed = follow(sequel(watches, record), bars_of(input, record.symbol), one.close, input.options.cost_percent);
    out.crossings.push_back(std::move(one));
  }
  for (const Weight weight : {Weight::heavy, Weight::unsettled, Weight::light, Weight::unknown}) {
    out.weights.push_back(group_of(out.crossings, weight));
  }
  sum_up_odds(out);
  sum_up_followed(out);
  missed_troubles(input, watches, out.troubles);
  blind_troubles(input, out.troubles);
  delivery_troubles(input, out.troubles);
  std::stable_sort(out.troubles.begin(), out.troubles.end(),
                   [](const DayTrouble& a, const DayTrouble& b) { return a.day < b.day; });
  return out;
}

}  // namespace brimwatch
