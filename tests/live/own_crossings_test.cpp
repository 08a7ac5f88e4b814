// What a month of its user's own crossings has taught reaches the daemon at an evening's chore: it is said, and judges
// from the day on that it names.
#include "house_rig.h"

namespace brimwatch::simulation {
namespace {

constexpr Date kWednesday = Date::of(2026, 10, 14);

OwnLifts learned_since(Date day, double lift) { return {{day, lift, 64, 40, day - 300, day - 2}}; }

struct OwnCrossings : HouseRig {
  void change(HouseWorld& world) override {
    world.say = [this](LogLevel, std::string_view text) { said.emplace_back(text); };
  }
  /// Of the newest crossing that was told.
  [[nodiscard]] double lift_that_was_used() const {
    for (auto one = sent.rbegin(); one != sent.rend(); ++one)
      for (const NoticeRecord& record : one->notices)
        if (record.notice.kind == NoticeKind::crossed) return record.notice.volume.own_lift;
    return -1;
  }
  std::vector<std::string> said;
};

TEST_F(OwnCrossings, JudgeFromTheDayOnThatIsNamed) {
  house->take_own_lifts(learned_since(kWednesday + 1, .021));
  EXPECT_THAT(said,
              testing::Contains("since 2026-10-15 your own crossings move the volume to come after one: +2.1 % of a "
                                "day, from 64 till 2026-10-13"));
  trade("KLVN", "20.10");
  pass(10 * kSecond);
  EXPECT_EQ(lift_that_was_used(), 0) << "a day is judged by one number from its first trade to its last";
  pass(23 * kHour);  // half a minute after the open
  for (int second = 0; second < 90; ++second) {
    trade("ORRI", "49.50");
    pass(kSecond);
  }
  trade("ORRI", "50.10");
  pass(10 * kSecond);
  EXPECT_EQ(lift_that_was_used(), .021);
}

TEST_F(OwnCrossings, AMonthWithTooFewIsKeptAndNotTalkedOf) {
  house->take_own_lifts(learned_since(kWednesday + 1, 0));
  EXPECT_THAT(said, testing::Not(testing::Contains(testing::HasSubstr("own crossings"))));
  EXPECT_EQ(house->desk().histories().own_lifts().size(), 1U);
}

TEST_F(OwnCrossings, AnswersThatComeAfterTheEndChangeNothing) {
  house->begin_end();
  house->end();
  house->take_own_lifts(learned_since(kWednesday + 1, .021));
  EXPECT_TRUE(house->desk().histories().own_lifts().empty());
}

}  // namespace
}  // namespace brimwatch::simulation
