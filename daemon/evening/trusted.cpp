#include "evening/trusted.h"

#include <algorithm>
#include <span>

#include "evening/course.h"
#include "evening/lookup.h"

namespace brimwatch {
namespace {

bool has_day(const std::vector<DailyBar>& days, Date day) { return bar_on(days, day) != nullptr; }

void cut_from(std::vector<DailyBar>& days, Date day) {
  std::erase_if(days, [day](const DailyBar& one) { return one.day >= day; });
}

/// The last day that an outcome of `day` can rest on.
Date last_that_counts(const std::vector<DailyBar>& bars, Date day) {
  const int at = last_bar_by(bars, day), end = std::min(at + kFollowedFor, static_cast<int>(bars.size()) - 1);
  return end >= 0 ? bars[static_cast<std::size_t>(end)].day : day;
}

/// Those from the crossing's day to that one.
std::vector<BarDoubt> doubts_after(const ReviewInput& input, const NoticeRecord& crossing,
                                   const std::vector<DailyBar>& bars) {
  const auto found = input.doubts.find(crossing.symbol);
  std::vector<BarDoubt> out = found == input.doubts.end() ? std::vector<BarDoubt>{} : found->second;
  const Date from = crossing.notice.day, to = last_that_counts(bars, from);
  std::erase_if(out, [=](const BarDoubt& one) { return one.day < from || one.day > to; });
  return out;
}

std::string in_words(const std::vector<BarDoubt>& doubts) {
  std::string out;
  for (const BarDoubt& one : doubts)
    if (out.find(one.text) == std::string::npos) out += (out.empty() ? "" : "; ") + one.text;
  return out;
}

}  // namespace

TrustedDays trusted_days(const ReviewInput& input, const NoticeRecord& crossing) {
  TrustedDays out;
  if (const auto* all = bars_of(input, crossing.symbol)) out.bars = *all;
  const std::vector<BarDoubt> doubts = doubts_after(input, crossing, out.bars);
  out.doubt = in_words(doubts);
  for (const BarDoubt& one : doubts) std::erase_if(out.bars, [&](const DailyBar& bar) { return bar.day == one.day; });
  out.course = course_of(input, crossing.symbol, out.bars);
  for (const BarDoubt& one : doubts) {
    if (one.day > crossing.notice.day) cut_from(out.bars, one.day);
    const bool is_later = one.day > crossing.notice.day || one.other_terms;
    if (is_later && (one.other_terms || !has_day(out.course, one.day))) cut_from(out.course, one.day);
  }
  return out;
}

}  // namespace brimwatch
