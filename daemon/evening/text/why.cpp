#include "evening/text/why.h"

#include <algorithm>
#include <cmath>

#include "core/shares.h"
#include "core/text/text.h"
#include "core/wording.h"
#include "evening/lookup.h"
#include "evening/text/say.h"
#include "evening/trusted.h"

namespace brimwatch {
namespace {

constexpr std::size_t kNameWidth = 12;

std::string row(std::string name, const std::string& text) {
  name.resize(kNameWidth, ' ');
  return wrap("  " + name + text, kReviewWidth, kNameWidth + 2) + "\n";
}

std::string shares_text(double shares) { return to_string(Shares::whole(std::llround(shares))); }

std::string trade_row(const Tick& trade, const Crossing& one) {
  const Notice& said = one.said.notice;
  std::string text =
      to_clock(trade.time, one.said.offset) + "  " + to_string(trade.price) + " x " + to_string(trade.size);
  if (!trade.conditions.view().empty()) text += ", conditions " + clean_line(trade.conditions.view(), 16);
  if (trade.time == said.time && trade.price == said.price) text += "  <- the notice's";
  return row("tape", text);
}

std::string told_rows(const Crossing& one) {
  const Notice& said = one.said.notice;
  std::string text = to_clock(said.time, one.said.offset) + " at " + to_string(said.price);
  if (said.price_before.is_set()) text += ", the last price before it " + to_string(said.price_before);
  if (said.age >= 0) text += "; data " + span_text(said.age) + " old";
  std::string out = row("told", text);
  out += row("levels", "pivot " + to_string(said.pivot) + ", range to " + to_string(said.range_top) + ", loss limit " +
                           to_string(said.loss_limit));
  if (!one.adjusted.empty()) out += row("", "in today's terms, after the " + one.adjusted);
  if (!one.doubt.empty()) out += row("doubts", doubt_text(one));
  const VolumeView& volume = said.volume;
  out += row("volume", shares_text(volume.so_far.as_double()) + " by then; said " + volume_phrase(volume));
  if (volume.weight != Weight::unknown) out += row("odds", odds_phrase(volume));
  return out;
}

std::string bar_text(const DailyBar& bar) {
  return to_string(bar.day) + ": open " + to_string(bar.open) + ", high " + to_string(bar.high) + ", low " +
         to_string(bar.low) + ", close " + to_string(bar.close) + ", volume " + shares_text(bar.volume);
}

std::string surge_rows(const Crossing& one, const DailyBar* bar) {
  if (!one.surge) return row("surge", "not judged: the day's volume or the normal one is not known");
  const VolumeView& said = one.said.notice.volume;
  std::string text = shares_text(*one.volume);
  if (bar != nullptr && one.official && part_of_tape(said) != 1)
    text = shares_text(bar->volume) + " x " + percent_text(100 * part_of_tape(said), 1).substr(1) +
           " that the feed carries = " + text;
  text += ", / normal " + shares_text(said.normal.as_double()) + " - 1 = " + percent_text(*one.surge, 1) + "; needed " +
          percent_text(said.needed, 0) + ": " + (*one.came ? "reached" : "not reached");
  return row("surge", text);
}

std::string came_rows(const Crossing& one, const ReviewInput& input) {
  const Notice& said = one.said.notice;
  const DailyBar* bar = bar_on(input, one.said.symbol, said.day);
  std::string out = row("daily bar", bar != nullptr ? bar_text(*bar) : "none of that day");
  if (const auto day = input.days.find({one.said.symbol, said.day}); day != input.days.end())
    out += row("feed's day", "close " + to_string(day->second.close) + ", volume " + to_string(day->second.volume));
  return out + surge_rows(one, bar) + row("close", close_text(one));
}

std::string after_rows(const Crossing& one, const std::vector<DailyBar>& course) {
  std::string out;
  const auto first = static_cast<std::size_t>(last_bar_by(course, one.said.notice.day) + 1);
  for (std::size_t i = first; i < course.size() && i < first + static_cast<std::size_t>(kSpans.back()); ++i)
    out += row(i == first ? "sessions" : "", bar_text(course[i]));
  for (std::size_t i = 0; i < kSpans.size(); ++i) {
    if (!one.after[i]) continue;
    std::string text = "highest " + percent_text(one.after[i]->rise, 1) + ", lowest " +
                       percent_text(one.after[i]->fall, 1) + ", close " + percent_text(one.after[i]->close, 1) +
                       " from " + to_string(one.said.notice.price);
    if (one.after[i]->index) text += "; the index " + percent_text(*one.after[i]->index, 1);
    out += row("after " + std::to_string(kSpans[i]), text);
  }
  return out;
}

std::string result_rows(const Crossing& one, double cost_percent) {
  const Followed& f = one.followed;
  std::string out = row("following", follow_text(one));
  if (!f.taken) return out;
  const std::string cost = percent_text(cost_percent, 2).substr(1);
  return out + row("result", to_string(f.sold) + " less " + cost + ", / " + to_string(f.bought) + " and " + cost +
                                 ", - 1 = " + percent_text(f.result, 2));
}

std::string later_rows(const Crossing& one, const ReviewInput& input) {
  std::string out;
  for (const NoticeRecord& record : input.notices) {
    const Notice& notice = record.notice;
    if (record.symbol != one.said.symbol || notice.pivot != one.said.notice.pivot || notice.time <= one.said.notice.time)
      continue;
    if (notice.day > one.followed.sold_on && notice.day != one.said.notice.day) continue;
    out += row(out.empty() ? "notices" : "", to_string(notice.day) + " " + to_clock(notice.time, record.offset) + " " +
                                                 std::string(to_string(notice.kind)) + " at " + to_string(notice.price));
  }
  return out;
}

}  // namespace

std::string why_in_words(const Crossing& one, const ReviewInput& input, const TradesAround& trades) {
  std::string out = clean_line(one.said.symbol, 24) + ", " + to_string(one.said.notice.day) + ", notice " +
                    clean_line(one.said.id, 100) + "\n";
  for (const Tick& trade : trades) out += trade_row(trade, one);
  out += told_rows(one) + later_rows(one, input) + came_rows(one, input);
  return out + after_rows(one, trusted_days(input, one.said).course) + result_rows(one, input.options.cost_percent);
}

}  // namespace brimwatch
