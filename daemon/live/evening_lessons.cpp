#include "live/evening_lessons.h"

#include <algorithm>

#include "volume/learning/learning.h"

namespace brimwatch {
namespace {}  // namespace

void EveningLessons::take(const DayRecord& record) {
  if (is_rehearsal(desk_.settings())) return;  // a day that is played must not stand twice in what is known of days
  const Calendar& calendar = desk_.main_calendar();
  const Session* session = calendar.on(record.day);
  if (session == nullptr) return;
  const std::vector<DailyBar>& daily = desk_.histories().daily(record.symbol);
  const FeedDay feed_day = feed_day_of(record);
  desk_.histories().add_feed_day(record.symbol, feed_day);
  const std::shared_ptr<const Learned> known = desk_.histories().learned(record.symbol);
  Learned learned = known != nullptr ? *known : Learned{};
  const DayPlan plan = make_plan(*session, daily, known, std::nullopt, calendar);
  // Most evenings the official bar is not there yet; the ratio is learned when it is.
  const double official = desk_.histories().official_volume(record.symbol, record.day);
  if (!learn_day(learned, record, official, plan)) return;
  if (learned.ratio_days == 0 && !learned.ratio_doubt) doubt_ratio(learned, {&feed_day, 1}, daily);
  desk_.histories().put_learned(record.symbol, std::move(learned));
  news_ = true;
}

LearnedBySymbol EveningLessons::take_all() {
  news_ = false;
  return desk_.histories().all_learned();
}

}  // namespace brimwatch
