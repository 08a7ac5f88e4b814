// Which date it is where: the tz database (https://www.iana.org/time-zones); New York is four hours behind UTC in
// October, Tokyo nine ahead.
#include "session/past_day.h"

#include <gtest/gtest.h>

namespace brimwatch {
namespace {

std::optional<Date> past(const char* mic, const char* time, const char* now) {
  return past_day(*parse_rfc3339(time), *parse_rfc3339(now), **Calendar::load(mic, {}));
}

TEST(PastDay, IsAnEarlierDateThatIsMoreThanAnHourAgo) {
  EXPECT_EQ(past("XNYS", "2026-10-16T15:59:00-04:00", "2026-10-18T12:00:00-04:00"), Date::of(2026, 10, 16));
  EXPECT_EQ(past("XNYS", "2026-10-16T15:59:00-04:00", "2026-10-16T23:59:00-04:00"), std::nullopt) << "still that day";
  EXPECT_EQ(past("XNYS", "2026-10-16T15:59:00-04:00", "2026-10-17T00:00:00-04:00"), Date::of(2026, 10, 16));
  EXPECT_EQ(past("XNYS", "2026-10-16T23:30:00-04:00", "2026-10-17T00:29:00-04:00"), std::nullopt) << "a delayed feed";
  EXPECT_EQ(past("XNYS", "2026-10-19T10:00:00-04:00", "2026-10-18T12:00:00-04:00"), std::nullopt)
      << "the future is not past";
}

TEST(PastDay, IsByTheExchangesOwnDate) {
  const char* const ten_in_tokyo = "2026-10-19T10:00:00+09:00";  // Sunday evening in New York
  EXPECT_EQ(past("XTKS", ten_in_tokyo, "2026-10-19T14:30:00+09:00"), std::nullopt);
  EXPECT_EQ(past("XNYS", ten_in_tokyo, "2026-10-19T14:30:00+09:00"), Date::of(2026, 10, 18));
}

TEST(PastDay, IsNotToldOfTimesThatAreNotKnown) {
  const auto calendar = *Calendar::load("XNYS", {});
  EXPECT_EQ(past_day({}, *parse_rfc3339("2026-10-19T10:00:00-04:00"), *calendar), std::nullopt);
  EXPECT_EQ(past_day(*parse_rfc3339("2026-10-16T10:00:00-04:00"), {}, *calendar), std::nullopt);
}

}  // namespace
}  // namespace brimwatch
