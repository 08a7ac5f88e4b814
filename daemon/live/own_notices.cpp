#include "live/own_notices.h"

#include <algorithm>

#include "core/wording.h"

namespace brimwatch {
namespace {

/// Far above what a day brings, and under the largest count there is.
constexpr int kUnreadBegin = 20'000;
constexpr int kCountMost = 65'535;
constexpr Nanos kDaysRemembered = 2;

}  // namespace

/// What has been said meanwhile, under counts of its own, stands beside it.
void OwnNotices::go_on_from(const OwnCounts& counts) {
  for (const auto& [what, count] : counts) {
    int& known = counts_.try_emplace(what, 0).first->second;
    known = std::max(known, count);
  }
  begin_ = 0;
}

void OwnNotices::go_on_unread(Timestamp now, const Calendar& calendar) {
  const Nanos local = now.ns + calendar.offset(now).count() * kSecond;
  begin_ = kUnreadBegin + static_cast<int>(local % kDayNanos / kMinute) * 30;
}

void OwnNotices::note(const NoticeRecord& record) {
  int& said = counts_.try_emplace({record.notice.day.days, record.symbol, record.notice.kind}, 0).first->second;
  said = std::max<int>(said, record.notice.count);
}

NoticeRecord OwnNotices::make(const std::string& name, Notice notice, Timestamp now, const Calendar& calendar) {
  notice.time = notice.time.is_set() ? notice.time : now;
  notice.day = calendar.local_date(notice.time);
  std::erase_if(counts_, [&](const auto& entry) { return std::get<0>(entry.first) < notice.day.days - kDaysRemembered; });
  int& said = counts_.try_emplace({notice.day.days, name, notice.kind}, begin_).first->second;
  said = std::min(said + 1, kCountMost);
  notice.count = static_cast<std::uint16_t>(said);
  WordingContext context;
  context.symbol = name;
  context.offset = calendar.offset(notice.time);
  return word(std::move(notice), context);
}

}  // namespace brimwatch
