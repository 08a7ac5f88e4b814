// A disk that hangs reports no error: the house must see it by itself, tell all the same, and tell nothing twice.
#include "house_rig.h"

namespace brimwatch::simulation {
namespace {

using testing::Each;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

using HungDisk = HouseRig;

bool says_no_answer(const Message& message) {
  return message.text.find("the disk has not answered for 10 s") != std::string::npos;
}

TEST_F(HungDisk, ACrossingIsToldThoughTheCommitNeverReturns) {
  EXPECT_TRUE(house->is_well());
  keeper.hangs = true;
  trade("KLVN", "20.10");
  pass(9 * kSecond);
  EXPECT_THAT(sent, IsEmpty()) << "a slow disk is waited for";
  EXPECT_TRUE(house->is_well());
  pass(2 * kSecond);
  EXPECT_EQ(times_sent("KLVN"), 1U);
  EXPECT_FALSE(house->is_well());
  EXPECT_THAT(log, ElementsAre("journal: the disk has not answered for 10 s"));
  pass(kMinute);
  EXPECT_EQ(times_sent("KLVN"), 1U);
  EXPECT_EQ(log.size(), 1U);
  EXPECT_EQ(std::count_if(sent.begin(), sent.end(), says_no_answer), 1);
}

TEST_F(HungDisk, WhatHappensMeanwhileIsToldAtOnce) {
  keeper.hangs = true;
  trade("KLVN", "20.10");
  pass(kMinute);
  trade("ORRI", "50.10");
  pass(kSecond);
  EXPECT_EQ(times_sent("ORRI"), 1U);
}

TEST_F(HungDisk, AllIsKeptAndNothingToldTwiceWhenItAnswers) {
  keeper.hangs = true;
  trade("KLVN", "20.10");
  pass(kMinute);
  trade("ORRI", "50.10");
  pass(kMinute);
  keeper.hangs = false;
  keeper.answer(true);
  pass(kMinute);
  EXPECT_EQ(times_sent("KLVN"), 1U);
  EXPECT_EQ(times_sent("ORRI"), 1U);
  EXPECT_EQ(times_kept("KLVN"), 1U);
  EXPECT_EQ(times_kept("ORRI"), 1U);
  EXPECT_THAT(log, ElementsAre("journal: the disk has not answered for 10 s", "journal: works again"));
  EXPECT_TRUE(house->is_well());
  EXPECT_TRUE(house->is_quiet());
  coalesce(keeper.kept);
  EXPECT_EQ(keeper.kept.deliveries.size(), sent.size());
  std::vector<DeliveryState> ends;
  for (const DeliveryRow& row : keeper.kept.deliveries) ends.push_back(row.state);
  EXPECT_THAT(ends, Each(DeliveryState::delivered));
}

TEST_F(HungDisk, AMessageThatWaitsForItsRowGoes) {
  trade("KLVN", "20.10");
  keeper.hangs = true;
  time.run_until(time.truth() + kBeat);  // the notice is kept, the row of its delivery is not
  pass(9 * kSecond);
  EXPECT_THAT(sent, IsEmpty());
  pass(2 * kSecond);
  EXPECT_EQ(times_sent("KLVN"), 1U);
}

TEST_F(HungDisk, AnErrorAfterItHungTellsNothingTwice) {
  keeper.hangs = true;
  trade("KLVN", "20.10");
  pass(kMinute);
  keeper.events.on_trouble("the disk is full");
  keeper.answer(false);
  pass(kSecond);
  trade("ORRI", "50.10");
  keeper.answer(false);
  pass(kMinute);
  EXPECT_FALSE(house->is_well());
  keeper.hangs = false;
  keeper.answer(false);
  keeper.recover();
  pass(kMinute);
  EXPECT_EQ(times_sent("KLVN"), 1U);
  EXPECT_EQ(times_sent("ORRI"), 1U);
  EXPECT_EQ(times_kept("ORRI"), 1U);
  EXPECT_EQ(log.back(), "journal: works again");
  EXPECT_TRUE(house->is_well());
}

TEST_F(HungDisk, AnAnswerJustBeforeTheBeatIsNoTrouble) {
  keeper.hangs = true;
  trade("KLVN", "20.10");
  pass(9 * kSecond + 3 * kBeat);
  keeper.hangs = false;
  keeper.answer(true);
  pass(kMinute);
  EXPECT_EQ(times_sent("KLVN"), 1U);
  EXPECT_THAT(log, IsEmpty());
}

TEST_F(HungDisk, AComputerThatSleptBlamesNoDisk) {
  keeper.hangs = true;
  trade("KLVN", "20.10");
  pass(kSecond);
  time.run_until(time.truth() + kHour);
  beat();
  EXPECT_THAT(log, testing::Not(testing::Contains(HasSubstr("the disk"))));
}

TEST_F(HungDisk, HoursOfItNeedNoMoreRoomThanTheNotices) {
  keeper.hangs = true;
  for (int minute = 0; minute < 240; ++minute) {
    trade("KLVN", minute % 2 == 0 ? "20.10" : "19.80");
    pass(kMinute);
  }
  EXPECT_LT(keeper.waiting(), 50U) << "what was on its way when it was found out";
  EXPECT_LT(patient.waiting(), 1000U);
  keeper.hangs = false;
  keeper.answer(true);
  pass(kMinute);
  EXPECT_LT(keeper.rows_most, 1000U);
  EXPECT_TRUE(house->is_well());
}

TEST_F(HungDisk, WhatIsLeftIsHandedOverAtTheEnd) {
  keeper.hangs = true;
  trade("KLVN", "20.10");
  pass(kMinute);
  trade("ORRI", "50.10");
  house->begin_end();
  time.run_until(time.truth() + kSecond);
  EXPECT_EQ(times_sent("ORRI"), 1U);
  patient.hand_over_all();
  keeper.answer(true);
  time.run_until(time.truth() + kSecond);
  EXPECT_EQ(times_kept("ORRI"), 1U);
  EXPECT_EQ(times_sent("ORRI"), 1U);
}

}  // namespace
}  // namespace brimwatch::simulation
