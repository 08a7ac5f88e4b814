#pragma once
// How old the high is that a pivot stands at, and how much volume comes once it is crossed. Pure.
#include <array>
#include <memory>
#include <vector>

#include "core/daily.h"
#include "core/price.h"
#include "core/text/timestamp.h"
#include "session/calendar.h"

namespace brimwatch {

/// The daily highs before a day, newest first.
struct RecentHighs {
  std::array<Price, 50> high{};
  int count = 0;
  int behind = 0;  ///< sessions since the newest of them that nothing is known of; 0: it is of the session before
};

/// Sessions from `from` on and before `to`; sixty at the most, 0 where `from` is not set.
[[nodiscard]] int sessions_from(Date from, Date to, const Calendar& calendar);

/// Of the bars before `day` (ascending), as far back as they have highs; nullptr where none does.
[[nodiscard]] std::shared_ptr<const RecentHighs> recent_highs(const std::vector<DailyBar>& daily, Date day,
                                                              const Calendar& calendar);

/// What kind of high a pivot stands at.
struct HighAge {
  int sessions = 0;  ///< since a daily high last reached the pivot: 1 is yesterday; at least so many where none did
  bool of_50 = false, of_20 = false;  ///< no daily high of the last 50, 20 sessions was above the pivot
  bool known = false;                 ///< from daily bars up to yesterday, or up to where the watch's own days begin
};

/// `untouched`: sessions in a row, up to yesterday, in which the pivot was watched and not reached.
[[nodiscard]] HighAge age_of_high(const RecentHighs* highs, int untouched, Price pivot);

/// Volume to come after the crossing, as a share of the day; for Moment::lift.
[[nodiscard]] double crossing_lift(const HighAge& age);

}  // namespace brimwatch
