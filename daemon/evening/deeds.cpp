#include "evening/deeds.h"

#include <algorithm>
#include <optional>

#include "core/text/text.h"
#include "core/wording.h"
#include "evening/lookup.h"

namespace brimwatch {
namespace {

/// The last crossing of that watch that was told before the purchase, of the days that are known.
const NoticeRecord* told_before(const ReviewInput& input, const Answer& bought) {
  const NoticeRecord* last = nullptr;
  for (const NoticeRecord& one : input.notices) {
    const bool is_of_it = one.symbol == bought.symbol && is_pivot_crossing(one.notice.kind);
    if (is_of_it && one.notice.time <= bought.time) last = &one;
  }
  return last;
}

const Answer* sold_after(const ReviewInput& input, const Answer& bought) {
  const auto found = std::find_if(input.answers.begin(), input.answers.end(), [&](const Answer& one) {
    return one.kind == AnswerKind::sold && one.symbol == bought.symbol && one.time >= bought.time;
  });
  return found == input.answers.end() ? nullptr : &*found;
}

Price last_close(const ReviewInput& input, const std::string& symbol) {
  const auto found = input.bars.find(symbol);
  if (found != input.bars.end()) {
    for (auto bar = found->second.rbegin(); bar != found->second.rend(); ++bar)
      if (bar->day <= input.options.to) return bar->close;
  }
  Price close;  // else what the feed made of the day
  for (const auto& [key, day] : input.days)
    if (key.first == symbol && key.second <= input.options.to) close = day.close;
  return close;
}

Deed deed_of(const ReviewInput& input, const Answer& bought) {
  Deed deed;
  deed.bought = bought;
  if (const NoticeRecord* told = told_before(input, bought)) {
    deed.notice_id = told->id;
    deed.after = bought.time - told->notice.time;
    deed.inside = bought.price <= told->notice.range_top;
    deed.told = told->notice.price;
  }
  const Answer* const sold = sold_after(input, bought);
  if (sold != nullptr && sold->day <= input.options.to) deed.sold = *sold;
  deed.last = deed.sold ? deed.sold->price : last_close(input, bought.symbol);
  if (deed.last.is_set()) deed.result = (deed.last.as_double() / bought.price.as_double() - 1) * 100;
  return deed;
}

std::string told_text(const Deed& deed) {
  if (deed.notice_id.empty()) return "no crossing had been told";
  return span_text(std::max<Nanos>(deed.after, 0)) + " after its crossing was told at " + to_string(deed.told) +
         (deed.inside ? "" : ", above the buy range");
}

std::string end_text(const Deed& deed) {
  if (deed.sold && !deed.sold->price.is_set()) return "sold on " + to_string(deed.sold->day) + ", the price was not said";
  const std::string result = deed.result ? ": " + percent_text(*deed.result, 1) : "";
  if (deed.sold) return "sold at " + to_string(deed.sold->price) + " on " + to_string(deed.sold->day) + result;
  return deed.last.is_set() ? "held, last close " + to_string(deed.last) + result : "held, no close is known yet";
}

}  // namespace

std::vector<Deed> deeds_of(const ReviewInput& input) {
  std::vector<Deed> out;
  for (const Answer& one : input.answers) {
    if (one.kind != AnswerKind::bought || one.day > input.options.to) continue;
    Deed deed = deed_of(input, one);
    if (!deed.sold || deed.sold->day >= input.options.from) out.push_back(std::move(deed));
  }
  return out;
}

std::string deed_text(const Deed& deed) {
  std::string out = clean_line(deed.bought.symbol, 24) + ": bought at " + to_string(deed.bought.price) + " on " +
                    to_string(deed.bought.day);
  if (deed.bought.shares > Shares{}) out += ", " + to_string(deed.bought.shares) + " shares";
  return out + ", " + told_text(deed) + "; " + end_text(deed);
}

}  // namespace brimwatch
