#include "desk.h"

namespace brimwatch {
namespace {

using desk::Desk;
using testing::HasSubstr;
using testing::IsEmpty;

OpenDelivery open(const std::string& symbol, DeliveryState state, int attempts, Timestamp time = desk::kTen) {
  OpenDelivery one;
  one.record = desk::notice(symbol, NoticeKind::crossed, time);
  one.row = {.notice_id = one.record.id, .channel = "mail", .state = state, .attempts = attempts};
  return one;
}

TEST(Restart, SendsWhatWaited) {
  Desk desk({desk::plan()});
  desk.dispatcher.take_up({open("KLVN", DeliveryState::pending, 0)}, desk.now);
  EXPECT_EQ(desk.one().message.title, "KLVN crossed");
}

TEST(Restart, OfWhatWaitsAlreadyTheWordsThatItHasMoreAreSaid) {
  Desk desk({desk::plan()});
  const auto was = open("KLVN", DeliveryState::pending, 0);
  auto more = was;
  more.record.text += "\nand a word more";
  for (const OpenDelivery& one : {was, more, was}) desk.dispatcher.take_up({one}, desk.now);
  const Send send = desk.one();
  EXPECT_THAT(send.message.text, HasSubstr("and a word more"));
  EXPECT_EQ(send.message.notices.size(), 1U) << "once";
}

/// Another machine has given the id to another notice: what is done, or waits, under it is not that one.
TEST(Restart, AnIdThatIsAnothersNowIsTakenUpAnew) {
  Desk desk({desk::plan()});
  desk.dispatcher.take_up({open("KLVN", DeliveryState::pending, 0)}, desk.now);
  desk.result(desk.one(), Outcome::delivered);
  const OpenDelivery another = open("KLVN", DeliveryState::pending, 0);
  desk.dispatcher.take_up({another}, desk.now);
  EXPECT_THAT(desk.due(), IsEmpty()) << "told already, as far as is known";
  desk.dispatcher.forget(another.record.id);
  desk.dispatcher.take_up({another}, desk.now);
  EXPECT_EQ(desk.one().message.id, another.record.id);
  desk.dispatcher.forget(another.record.id);
  desk.dispatcher.take_up({another}, desk.now);
  EXPECT_THAT(desk.due(), IsEmpty()) << "it is in hand";
}

TEST(Restart, SendsAgainWithTheSameIdWhatWasBeingSentAndCountsIt) {
  Desk desk({desk::plan()});
  const auto was = open("KLVN", DeliveryState::sending, 1);
  desk.dispatcher.take_up({was}, desk.now);
  desk.keep();
  EXPECT_EQ(desk.row(was.record).unknowns, 1);
  const Send send = desk.one();
  EXPECT_EQ(send.message.id, was.record.id);
  EXPECT_EQ(send.message.attempt, 2);
  EXPECT_THAT(send.message.text, HasSubstr("you may have it twice"));
  EXPECT_EQ(desk.dispatcher.view()[0].counters.unknown, 1U);
}

TEST(Restart, PutsADigestTogetherAgain) {
  Desk desk({desk::plan()});
  auto a = open("A", DeliveryState::sending, 1), b = open("B", DeliveryState::sending, 1),
       c = open("C", DeliveryState::pending, 0);
  a.row.digest = b.row.digest = "the-digest";
  desk.dispatcher.take_up({a, b, c}, desk.now);
  const Send send = desk.one();
  EXPECT_EQ(send.message.id, "the-digest");
  EXPECT_EQ(send.message.notices.size(), 2U);
}

TEST(Restart, RemembersWhichRecipientsHaveIt) {
  Desk desk({desk::plan()});
  auto was = open("KLVN", DeliveryState::sending, 1);
  was.row.taken_by = {"a@example.org"};
  desk.dispatcher.take_up({was}, desk.now);
  const Send send = desk.one();
  EXPECT_THAT(send.message.taken_by, testing::ElementsAre("a@example.org"));
  desk.dispatcher.on_taken("mail", {was.record.id}, "b@example.org");
  desk.keep();
  EXPECT_THAT(desk.row(was.record).taken_by, testing::ElementsAre("a@example.org", "b@example.org"));
  EXPECT_EQ(desk.row(was.record).state, DeliveryState::sending) << "others are still asked";
}

TEST(Restart, OfADigestThoseHaveItWhoHaveEachOfItsNotices) {
  Desk desk({desk::plan()});
  auto a = open("A", DeliveryState::pending, 1), b = open("B", DeliveryState::pending, 1);
  a.row.digest = b.row.digest = "the-digest";
  a.row.taken_by = {"both@example.org", "one@example.org"};
  b.row.taken_by = {"both@example.org"};
  desk.dispatcher.take_up({a, b}, desk.now);
  EXPECT_THAT(desk.one().message.taken_by, testing::ElementsAre("both@example.org"));
}

TEST(Restart, ARepetitionGoesToEverybodyAgain) {
  Desk desk({desk::until_acknowledged()});
  auto one = open("KLVN", DeliveryState::delivered, 1, desk::kTen - 10 * kMinute);
  one.row.next = desk::kTen - kMinute;
  one.row.taken_by = {"a@example.org"};
  desk.dispatcher.take_up({one}, desk.now);
  EXPECT_THAT(desk.one().message.taken_by, IsEmpty());
}

TEST(Restart, GoesOnRepeatingUntilAcknowledged) {
  Desk desk({desk::until_acknowledged()});
  auto one = open("KLVN", DeliveryState::delivered, 1, desk::kTen - 10 * kMinute);
  one.row.next = desk::kTen - kMinute;
  desk.dispatcher.take_up({one}, desk.now);
  EXPECT_EQ(desk.one().message.id, one.record.id + "/again-2");
}

TEST(Restart, DoesNotRepeatWhatWasAcknowledgedMeanwhile) {
  Desk desk({desk::until_acknowledged()});
  auto one = open("KLVN", DeliveryState::delivered, 1, desk::kTen - 10 * kMinute);
  one.row.next = desk::kTen - kMinute;
  one.acknowledged = true;
  desk.dispatcher.take_up({one}, desk.now);
  EXPECT_THAT(desk.due(), IsEmpty());
  EXPECT_EQ(desk.row(one.record).state, DeliveryState::delivered);
  EXPECT_EQ(desk.row(one.record).reply, "acknowledged");
  EXPECT_EQ(desk.row(one.record).done, desk.now);
  EXPECT_FALSE(desk.dispatcher.next_wakeup(desk.now));
}

// Seen on another channel: this one still tells it, as it would have without the restart, but once.
TEST(Restart, SendsOnceWhatWaitedAndWasAcknowledgedMeanwhile) {
  Desk desk({desk::until_acknowledged()});
  auto one = open("KLVN", DeliveryState::pending, 0);
  one.acknowledged = true;
  desk.dispatcher.take_up({one}, desk.now);
  desk.result(desk.one(), Outcome::delivered, "250 taken");
  EXPECT_EQ(desk.row(one.record).reply, "250 taken");
  EXPECT_TRUE(desk.row(one.record).done.is_set());
  EXPECT_FALSE(desk.dispatcher.next_wakeup(desk.now));
}

TEST(Restart, TellsInOneDigestWhatPiledUpMeanwhile) {
  Desk desk({desk::plan()});
  std::vector<OpenDelivery> rows;
  for (int i = 0; i < 4; ++i)
    rows.push_back(open("S" + std::to_string(i), DeliveryState::pending, 0, desk::kTen - 5 * kMinute));
  desk.dispatcher.take_up(rows, desk.now);
  const Send send = desk.one();
  EXPECT_EQ(send.message.notices.size(), 4U);
  EXPECT_THAT(send.message.text, HasSubstr("Late by 5 min"));
}

TEST(Restart, DoesNotSendWhatHasExpiredMeanwhile) {
  Desk desk({desk::plan()});
  const auto old = open("KLVN", DeliveryState::pending, 0, desk::kTen - kHour);
  const auto maybe = open("ORRI", DeliveryState::sending, 1, desk::kTen - kHour);
  desk.dispatcher.take_up({old, maybe}, desk.now);
  EXPECT_THAT(desk.due(), IsEmpty());
  EXPECT_EQ(desk.row(old.record).state, DeliveryState::expired);
  EXPECT_EQ(desk.row(maybe.record).state, DeliveryState::unknown) << "it may have arrived";
}

TEST(Restart, EndsWhatBelongsToAChannelThatIsGone) {
  Desk desk({desk::plan("other")});
  const auto waited = open("A", DeliveryState::pending, 0), was_sending = open("B", DeliveryState::sending, 1),
             repeated = open("C", DeliveryState::delivered, 1);
  desk.dispatcher.take_up({waited, was_sending, repeated}, desk.now);
  desk.keep();
  EXPECT_EQ(desk.row(waited.record).state, DeliveryState::dead);
  EXPECT_EQ(desk.row(was_sending.record).state, DeliveryState::unknown);
  EXPECT_EQ(desk.row(repeated.record).state, DeliveryState::delivered);
  for (const auto& [key, row] : desk.rows) EXPECT_TRUE(row.done.is_set()) << key.first;
}

}  // namespace
}  // namespace brimwatch
