// Bars that are doubtful, one fault at a time: each is told with its day, and a base in them earns no kept rule.
#include "weekend/doubts.h"

#include <gmock/gmock.h>

#include "planted.h"

namespace brimwatch {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

class Doubts : public ::testing::Test {
 protected:
  Doubts() : bars(testing_support::plant(BaseKind::flat_base, 0.006, 3).bars) {
    for (const DailyBar& bar : bars) sessions.push_back(bar.day);
  }
  [[nodiscard]] std::vector<std::string> found(const std::vector<PriceEvent>& events = {}) const {
    const int last = static_cast<int>(bars.size()) - 1;
    return doubts_of(bars, {last - 40, last - 170}, events, sessions);
  }
  [[nodiscard]] std::size_t back(std::size_t sessions_ago) const { return bars.size() - 1 - sessions_ago; }
  [[nodiscard]] std::string day(std::size_t sessions_ago) const { return to_string(bars[back(sessions_ago)].day); }
  void scale_before(std::size_t sessions_ago, double factor) {
    for (std::size_t i = 0; i < back(sessions_ago); ++i) {
      for (Price* price : {&bars[i].open, &bars[i].high, &bars[i].low, &bars[i].close})
        price->micros = std::llround(static_cast<double>(price->micros) * factor);
    }
  }

  std::vector<DailyBar> bars;
  std::vector<Date> sessions;
};

TEST_F(Doubts, there_are_none_of_sound_bars) { EXPECT_THAT(found(), IsEmpty()); }

TEST_F(Doubts, there_are_few_of_random_walks_of_every_liveliness) {
  int doubtful = 0;
  for (std::uint64_t seed = 1; seed <= 300; ++seed) {
    const auto walk = testing_support::random_walk(400, 0.01 + 0.01 * static_cast<double>(seed % 3), seed);
    doubtful += !doubts_of(walk, {340, 200}, {}, {}).empty();
  }
  EXPECT_LE(doubtful, 3);
}

TEST_F(Doubts, name_volume_that_is_zero_or_missing) {
  bars[back(7)].volume = bars[back(20)].volume = 0;
  EXPECT_THAT(found(), ElementsAre("no volume on 2 of the last 50 sessions, the last on " + day(7)));
}

TEST_F(Doubts, name_a_halt_by_sessions_without_a_range) {
  for (std::size_t ago = 10; ago < 13; ++ago) {
    DailyBar& bar = bars[back(ago)];
    bar.open = bar.high = bar.low = bar.close;
  }
  EXPECT_THAT(found(), ElementsAre("no range on 3 of the last 50 sessions, the last on " + day(10)));
}

TEST_F(Doubts, name_a_missing_session_by_the_exchanges_calendar) {
  const std::string gone = day(12);
  bars.erase(bars.begin() + static_cast<std::ptrdiff_t>(back(12)));
  EXPECT_THAT(found(), ElementsAre("1 session missing, the last " + gone));
}

TEST_F(Doubts, name_a_hole_of_a_week_where_no_calendar_covers_it) {
  sessions.clear();
  const std::string after = day(9);
  bars.erase(bars.begin() + static_cast<std::ptrdiff_t>(back(15)), bars.begin() + static_cast<std::ptrdiff_t>(back(9)));
  EXPECT_THAT(found(), ElementsAre(HasSubstr("before " + after)));
}

TEST_F(Doubts, name_a_split_that_nobody_told) {
  scale_before(60, 2);
  EXPECT_THAT(found(), ElementsAre(::testing::AllOf(HasSubstr("on " + day(60)), HasSubstr("an unreported 2:1 split?"))));
}

TEST_F(Doubts, name_a_split_that_was_told_for_the_day_before) {
  scale_before(60, 1.0 / 10);
  const Date told = bars[back(61)].day;
  EXPECT_THAT(found({{told, 0.1, {}}}),
              ElementsAre("the 1:10 split told for " + to_string(told) + " shows in the prices on " + day(60)));
}

TEST_F(Doubts, do_not_take_a_crash_on_many_times_the_volume_for_a_split) {
  scale_before(60, 2);
  bars[back(60)].volume *= 12;
  EXPECT_THAT(found(), IsEmpty());
}

TEST_F(Doubts, name_prices_under_one) {
  scale_before(0, 0.015);
  scale_before(0, 1);
  for (Price* price : {&bars.back().open, &bars.back().high, &bars.back().low, &bars.back().close})
    price->micros = std::llround(static_cast<double>(price->micros) * 0.015);
  EXPECT_THAT(found(), ElementsAre(HasSubstr("under 1.00")));
}

TEST_F(Doubts, name_prices_and_volumes_that_change_their_unit) {
  scale_before(30, 100);
  EXPECT_THAT(found(), ElementsAre(HasSubstr("on " + day(30) + ": another unit?")));
  scale_before(30, 0.01);
  for (std::size_t ago = 0; ago < 50; ++ago) bars[back(ago)].volume /= 100;
  EXPECT_THAT(found(), ElementsAre(HasSubstr("normal volume fell")));
}

TEST_F(Doubts, look_at_the_rise_for_splits_and_no_farther) {
  scale_before(175, 2);
  EXPECT_THAT(found(), IsEmpty());
  scale_before(175, 0.5);
  scale_before(165, 2);
  EXPECT_THAT(found(), ::testing::SizeIs(1));
}

}  // namespace
}  // namespace brimwatch
