#include "dispatch/plan.h"

#include "desk.h"
#include "dispatch/backoff.h"
#include "dispatch/pace.h"

namespace brimwatch {
namespace {

using desk::kDay;
using desk::kTen;
using desk::notice;

TEST(Plan, ChoosesByKindAndByTheWeightOfCrossings) {
  ChannelPlan plan = desk::plan();
  EXPECT_TRUE(wants(plan, notice("KLVN", NoticeKind::day_end, kTen)));
  plan.kinds = {NoticeKind::crossed, NoticeKind::fell_under};
  plan.weights = {Weight::heavy};
  auto crossed = notice("KLVN", NoticeKind::crossed, kTen);
  EXPECT_TRUE(wants(plan, crossed));
  crossed.notice.volume.weight = Weight::light;
  EXPECT_FALSE(wants(plan, crossed));
  auto fell = notice("KLVN", NoticeKind::fell_under, kTen);
  fell.notice.volume.weight = Weight::light;
  EXPECT_TRUE(wants(plan, fell)) << "a weight is asked of crossings only";
  EXPECT_FALSE(wants(plan, notice("KLVN", NoticeKind::left_range, kTen)));
}

TEST(Plan, LeavesAChannelsOwnTroubleToTheOthers) {
  const auto trouble = notice("mail", NoticeKind::self_check, kTen);
  const auto recipients = recipients_of({desk::plan("mail"), desk::plan("desk")});
  EXPECT_THAT(recipients(trouble), testing::ElementsAre("desk"));
  EXPECT_THAT(recipients(notice("KLVN", NoticeKind::crossed, kTen)), testing::ElementsAre("mail", "desk"));
}

Timestamp at(int hour, int minute, int second = 0) {
  return Timestamp{kDay.days * kDayNanos + hour * kHour + minute * kMinute + second * kSecond};
}

TEST(Plan, KnowsWhenQuietHoursEnd) {
  ChannelPlan plan = desk::plan();
  EXPECT_FALSE(quiet_until(plan, at(3, 0)));
  plan.quiet_from_minute = 12 * 60, plan.quiet_to_minute = 13 * 60 + 30;
  EXPECT_FALSE(quiet_until(plan, at(11, 59, 59)));
  EXPECT_EQ(quiet_until(plan, at(12, 0)), at(13, 30));
  EXPECT_EQ(quiet_until(plan, at(13, 29, 59)), at(13, 30));
  EXPECT_FALSE(quiet_until(plan, at(13, 30)));
}

TEST(Plan, KnowsQuietHoursOverMidnightInTheUsersZone) {
  ChannelPlan plan = desk::plan();
  plan.quiet_from_minute = 22 * 60, plan.quiet_to_minute = 7 * 60;
  plan.local_offset = [](Timestamp) { return std::chrono::hours{-5}; };
  EXPECT_FALSE(quiet_until(plan, at(12, 0)));
  EXPECT_EQ(quiet_until(plan, at(4, 0)), at(12, 0));  // 23:00 -> 7:00 there
  EXPECT_EQ(quiet_until(plan, at(11, 0)), at(12, 0));
}

TEST(Plan, EndsQuietHoursByTheClockOnTheWallWhenThatChanges) {
  ChannelPlan plan = desk::plan();
  plan.quiet_from_minute = 0, plan.quiet_to_minute = 7 * 60;
  // The clock goes from 2:00 to 3:00 at 7:00 UTC.
  plan.local_offset = [](Timestamp t) { return std::chrono::hours{t < at(7, 0) ? -5 : -4}; };
  EXPECT_EQ(quiet_until(plan, at(6, 0)), at(11, 0));
}

TEST(Plan, GivesEveryKindALife) {
  const ChannelPlan plan = desk::plan();
  for (int i = 0; i < kNoticeKinds; ++i) {
    const auto kind = static_cast<NoticeKind>(i);
    EXPECT_GT(life_of(kind, plan), 0);
    EXPECT_EQ(is_urgent(kind), life_of(kind, plan) == plan.expire_urgent) << to_string(kind);
  }
}

TEST(Backoff, GrowsWithFullJitterUpToItsBound) {
  std::mt19937_64 random(7);
  Nanos most = 0;
  for (int failures = 1; failures < 60; ++failures) {
    const Nanos ceiling = std::min(kMinute, kSecond << std::min(failures - 1, 19));
    for (int i = 0; i < 50; ++i) {
      const Nanos pause = retry_pause(failures, kMinute, {}, random);
      EXPECT_GE(pause, kRetryLeast);
      EXPECT_LE(pause, std::max(kRetryLeast, ceiling));
      most = std::max(most, pause);
    }
  }
  EXPECT_GT(most, 50 * kSecond);
}

TEST(Backoff, HonoursAWishToWaitWithinReason) {
  std::mt19937_64 random(7);
  EXPECT_GE(retry_pause(1, kMinute, std::chrono::seconds{90}, random), 90 * kSecond);
  EXPECT_EQ(retry_pause(1, kMinute, std::chrono::seconds{1'000'000'000}, random), kRetryAfterMost);
  EXPECT_LE(retry_pause(1, kMinute, std::chrono::seconds{-5}, random), kSecond);
}

TEST(Pace, LetsAFewGoAtOnceAndThenOneAtATime) {
  Pace pace(30);
  EXPECT_EQ(pace.allowed(kTen), 5);
  for (int i = 0; i < 5; ++i) pace.spend(kTen);
  EXPECT_EQ(pace.allowed(kTen), 0);
  EXPECT_EQ(pace.opens(), kTen + 2 * kSecond);
  EXPECT_EQ(pace.allowed(kTen + 2 * kSecond), 1);
  EXPECT_EQ(pace.allowed(kTen + kMinute), 5);
}

TEST(Pace, DoesNotStandStillWhenTheClockIsSetBack) {
  Pace pace(30);
  for (int i = 0; i < 5; ++i) pace.spend(kTen);
  EXPECT_EQ(pace.allowed(kTen - kHour), 5);
  for (int i = 0; i < 5; ++i) pace.spend(kTen - kHour);
  EXPECT_EQ(pace.allowed(kTen - kHour), 0);  // and it still keeps its rate
  EXPECT_EQ(pace.allowed(kTen - kHour + 2 * kSecond), 1);
}

}  // namespace
}  // namespace brimwatch
