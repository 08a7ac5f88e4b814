#include "dispatch/dispatcher.h"

#include <set>

#include "core/rehearsal_mark.h"
#include "desk.h"

namespace brimwatch {
namespace {

using desk::Desk;
using testing::AllOf;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

TEST(Dispatcher, SendsALoneNoticeAtOnceAndAsItIs) {
  Desk desk({desk::plan()});
  const auto record = desk.write("KLVN");
  const Send send = desk.one();
  EXPECT_EQ(send.channel, "mail");
  EXPECT_EQ(send.message.id, record.id);
  EXPECT_EQ(send.message.title, record.title);
  EXPECT_EQ(send.message.text, record.text);
  EXPECT_EQ(send.message.attempt, 1);
  EXPECT_FALSE(send.message.late);
  EXPECT_EQ(desk.row(record).state, DeliveryState::sending);
  EXPECT_EQ(desk.row(record).attempts, 1);
  EXPECT_THAT(desk.due(), IsEmpty()) << "one at a time";
  desk.result(send, Outcome::delivered, "250 taken");
  EXPECT_EQ(desk.row(record).state, DeliveryState::delivered);
  EXPECT_EQ(desk.row(record).reply, "250 taken");
  EXPECT_EQ(desk.row(record).done, desk.now);
  EXPECT_THAT(desk.due(), IsEmpty());
  EXPECT_FALSE(desk.dispatcher.next_wakeup(desk.now));
}

TEST(Dispatcher, SendsThroughEveryChannelThatWantsIt) {
  auto hook = desk::plan("hook");
  hook.kinds = {NoticeKind::fell_under};
  Desk desk({desk::plan(), hook});
  desk.write("KLVN");
  desk.write("KLVN", NoticeKind::fell_under);
  const auto sends = desk.due();
  ASSERT_EQ(sends.size(), 2U);
  EXPECT_EQ(sends[1].channel, "hook");
  EXPECT_EQ(sends[1].message.notices.front().notice.kind, NoticeKind::fell_under);
  EXPECT_THAT(desk.dispatcher.recipients()(desk::notice("A", NoticeKind::crossed, desk.now)),
              testing::ElementsAre("mail"));
}

TEST(Dispatcher, MakesOneDigestOfThirtyBreakoutsInOneMinute) {
  Desk desk({desk::plan()});
  std::vector<NoticeRecord> records;
  for (int i = 0; i < 30; ++i) records.push_back(desk.write("S" + std::to_string(i)));
  const Send send = desk.one();
  EXPECT_EQ(send.message.notices.size(), 30U);
  EXPECT_EQ(send.message.title, "30 crossed (30 heavy): S0, S1, S2 and 27 more");
  EXPECT_THAT(send.message.text,
              AllOf(HasSubstr("10:00:00  S29 crossed\n"), HasSubstr("brimwatch journal --day 2026-11-25")));
  EXPECT_NE(send.message.id, records[0].id);
  desk.result(send, Outcome::delivered);
  for (const auto& record : records) {
    EXPECT_EQ(desk.row(record).state, DeliveryState::delivered);
    EXPECT_EQ(desk.row(record).digest, send.message.id);
  }
  EXPECT_EQ(desk.dispatcher.view()[0].counters.digests, 1U);
}

TEST(Dispatcher, SaysHowOldTheOldestIsThatWaits) {
  Desk desk({desk::plan()});
  const auto age = [&desk] {
    const Timestamp oldest = desk.dispatcher.oldest_waiting("mail", desk.now);
    return oldest.is_set() ? (desk.now - oldest) / kSecond : -1;
  };
  EXPECT_EQ(age(), -1);
  const Timestamp begun = desk.now;
  desk.write("KLVN");
  desk.now = begun + 40 * kSecond;
  desk.write("HALQ");
  EXPECT_EQ(age(), 40);
  const Send send = desk.due().front();
  desk.now = begun + 60 * kSecond;
  EXPECT_EQ(age(), 60) << "on its way is not there";
  desk.result(send, Outcome::retry, "451 later");
  EXPECT_EQ(age(), 60) << "nor is what is tried again";
  EXPECT_EQ(desk.dispatcher.oldest_waiting("hook", desk.now), Timestamp{});
}

TEST(Dispatcher, BoundsADigest) {
  Desk desk({desk::plan()});
  for (int i = 0; i < 120; ++i) desk.write("S" + std::to_string(i));
  std::vector<std::size_t> sizes;
  for (int i = 0; i < 3; ++i) {
    const Send send = desk.one();
    sizes.push_back(send.message.notices.size());
    desk.result(send, Outcome::delivered);
  }
  EXPECT_THAT(sizes, testing::ElementsAre(50, 50, 20));
}

TEST(Dispatcher, GathersWhatIsOverTheRateForAMomentOnly) {
  auto slow = desk::plan();
  slow.per_minute = 1;
  Desk desk({slow});
  desk.write("A");
  desk.result(desk.one(), Outcome::delivered);
  desk.write("B");
  EXPECT_THAT(desk.due(), IsEmpty());
  desk.later(2 * kSecond);
  desk.write("C");
  EXPECT_THAT(desk.due(), IsEmpty());
  desk.wake();
  EXPECT_EQ(desk.now, desk::kTen + 5 * kSecond) << "urgent ones wait five seconds at most";
  EXPECT_EQ(desk.one().message.notices.size(), 2U);
}

TEST(Dispatcher, LetsWhatIsNotUrgentWaitForTheRate) {
  auto slow = desk::plan();
  slow.per_minute = 1;
  Desk desk({slow});
  desk.write("A", NoticeKind::day_end);
  desk.result(desk.one(), Outcome::delivered);
  desk.write("B", NoticeKind::day_end);
  EXPECT_THAT(desk.due(), IsEmpty());
  desk.wake();
  EXPECT_EQ(desk.now, desk::kTen + kMinute);
  EXPECT_EQ(desk.one().message.notices.size(), 1U);
}

TEST(Dispatcher, SendsUrgentOnesFirstButKeepsTheOrderOfASymbol) {
  Desk desk({desk::plan()});
  desk.write("A", NoticeKind::day_end);
  desk.write("B", NoticeKind::day_end);
  desk.write("B", NoticeKind::crossed);
  std::vector<std::string> titles;
  for (int i = 0; i < 3; ++i) {
    const Send send = desk.one();
    titles.push_back(send.message.title);
    desk.result(send, Outcome::delivered);
  }
  EXPECT_THAT(titles, testing::ElementsAre("B day-end", "B crossed", "A day-end"));
}

TEST(Dispatcher, DefersInQuietHoursAndMakesADigestWhenTheyEnd) {
  auto quiet = desk::plan();
  quiet.quiet_from_minute = 14 * 60, quiet.quiet_to_minute = 18 * 60;  // UTC; it is 15:00
  Desk desk({quiet});
  const auto first = desk.write("A", NoticeKind::day_end);
  const auto second = desk.write("B", NoticeKind::feed_back);
  EXPECT_THAT(desk.due(), IsEmpty());
  desk.write("C", NoticeKind::crossed);
  const Send urgent = desk.one();
  EXPECT_EQ(urgent.message.title, "C crossed") << "urgent ones pass";
  desk.result(urgent, Outcome::delivered);
  desk.wake();
  EXPECT_EQ(desk.now, desk::kTen + 3 * kHour);
  const Send digest = desk.one();
  EXPECT_EQ(digest.message.notices.size(), 2U) << "no burst";
  ASSERT_TRUE(digest.message.late);
  EXPECT_THAT(digest.message.text, HasSubstr("Late by 3 h"));
  desk.result(digest, Outcome::delivered);
  EXPECT_EQ(desk.row(first).state, DeliveryState::delivered);
  EXPECT_EQ(desk.row(second).state, DeliveryState::delivered);
}

TEST(Dispatcher, NeverDropsAnUrgentOneThatQuietHoursHeldBack) {
  auto quiet = desk::plan();
  quiet.quiet_from_minute = 14 * 60, quiet.quiet_to_minute = 23 * 60, quiet.urgent_passes = false;
  Desk desk({quiet});
  const auto record = desk.write("A");
  EXPECT_THAT(desk.due(), IsEmpty());
  desk.wake();
  EXPECT_EQ(desk.now, desk::kTen + 8 * kHour);
  desk.result(desk.one(), Outcome::delivered);
  EXPECT_EQ(desk.row(record).state, DeliveryState::delivered);
}

TEST(Dispatcher, SaysHowLateANoticeIs) {
  Desk desk({desk::plan()});
  const auto record = desk::notice("KLVN", NoticeKind::crossed, desk.now - 12 * kMinute);
  desk.dispatcher.on_written(record, desk.now);
  const Send send = desk.one();
  EXPECT_EQ(send.message.late, std::chrono::minutes{12});
  EXPECT_THAT(send.message.text, HasSubstr("Late by 12 min: happened 09:48:00, sent 10:00:00."));
  EXPECT_THAT(send.message.text, HasSubstr(record.text));
}

TEST(Dispatcher, DoesNotCallDelayedDataLate) {
  Desk desk({desk::plan()});
  auto record = desk::notice("KLVN", NoticeKind::crossed, desk.now - 20 * kMinute);
  record.notice.age = 20 * kMinute;
  desk.dispatcher.on_written(record, desk.now);
  EXPECT_FALSE(desk.one().message.late) << "the feed is late, not the message; and it has not expired";
}

TEST(Dispatcher, DoesNotSendWhatIsTooOld) {
  Desk desk({desk::plan()});
  const auto old = desk::notice("KLVN", NoticeKind::crossed, desk.now - 16 * kMinute);
  const auto day_end = desk::notice("KLVN", NoticeKind::day_end, desk.now - 16 * kMinute);
  desk.dispatcher.on_written(old, desk.now);
  desk.dispatcher.on_written(day_end, desk.now);
  EXPECT_EQ(desk.one().message.id, day_end.id);
  EXPECT_EQ(desk.row(old).state, DeliveryState::expired);
  EXPECT_EQ(desk.dispatcher.view()[0].counters.expired, 1U);
}

TEST(Dispatcher, SendsOnceWhatIsWrittenTwice) {
  Desk desk({desk::plan()});
  const auto record = desk.write("KLVN");
  desk.dispatcher.on_written(record, desk.now);
  desk.result(desk.one(), Outcome::delivered);
  EXPECT_THAT(desk.due(), IsEmpty());
  desk.rows.clear();
  desk.dispatcher.on_written(record, desk.now);
  EXPECT_THAT(desk.due(), IsEmpty());
  EXPECT_EQ(desk.row(record).state, DeliveryState::delivered) << "the journal hears again how it ended";
}

TEST(Dispatcher, RepeatsACrossingUntilItIsAcknowledged) {
  Desk desk({desk::until_acknowledged()});
  const auto record = desk.write("KLVN");
  desk.result(desk.one(), Outcome::delivered);
  EXPECT_EQ(desk.row(record).state, DeliveryState::delivered);
  EXPECT_FALSE(desk.row(record).done.is_set()) << "open until acknowledged";
  EXPECT_THAT(desk.due(), IsEmpty());
  desk.wake();
  EXPECT_EQ(desk.now, desk::kTen + 5 * kMinute);
  const Send again = desk.one();
  EXPECT_EQ(again.message.id, record.id + "/again-1") << "not the same id, or an id-aware side would drop it";
  EXPECT_THAT(again.message.text, HasSubstr("brimwatch journal ack " + record.id));
  desk.result(again, Outcome::delivered);
  desk.dispatcher.on_acknowledged(record.id, desk.now);
  desk.keep();
  EXPECT_TRUE(desk.row(record).done.is_set());
  EXPECT_FALSE(desk.dispatcher.next_wakeup(desk.now));
}

TEST(Dispatcher, StopsRepeatingAfterAnHour) {
  Desk desk({desk::until_acknowledged()});
  const auto record = desk.write("KLVN");
  int sent = 0;
  for (; sent < 50 && !desk.row(record).done.is_set(); ++sent) {
    if (sent > 0) desk.wake();
    desk.result(desk.one(), Outcome::delivered);
  }
  EXPECT_EQ(sent, 13);
  EXPECT_EQ(desk.row(record).state, DeliveryState::delivered);
}

// A clock that was a day ahead when the crossing came, and is right now: what it says of when that was, is to come.
TEST(Dispatcher, StopsRepeatingAfterAnHourThoughTheClockWasWrong) {
  Desk desk({desk::until_acknowledged()});
  NoticeRecord record = desk::notice("KLVN", NoticeKind::crossed, desk.now);
  record.notice.age = kDayNanos;
  desk.dispatcher.on_written(record, desk.now);
  desk.keep();
  std::set<std::string> ids;
  for (int sent = 0; sent < 50 && !desk.row(record).done.is_set(); ++sent) {
    if (sent > 0) desk.wake();
    const Send send = desk.one();
    EXPECT_EQ(send.message.late.has_value(), sent > 0);
    EXPECT_TRUE(ids.insert(send.message.id).second) << send.message.id;
    desk.result(send, Outcome::delivered);
  }
  EXPECT_EQ(ids.size(), 13U);
}

TEST(Dispatcher, AcknowledgedWhileItIsSentIsNotRepeated) {
  Desk desk({desk::until_acknowledged()});
  const auto record = desk.write("KLVN");
  const auto other = desk.write("ORRI", NoticeKind::left_range);
  const Send send = desk.one();
  desk.dispatcher.on_acknowledged(record.id, desk.now);
  desk.result(send, Outcome::delivered);
  EXPECT_TRUE(desk.row(record).done.is_set());
  desk.result(desk.one(), Outcome::delivered);
  EXPECT_TRUE(desk.row(other).done.is_set()) << "only crossings are repeated";
}

TEST(Dispatcher, AcknowledgedWhileARepetitionFailsItIsNotSaidAgain) {
  Desk desk({desk::until_acknowledged()});
  const auto record = desk.write("KLVN");
  desk.result(desk.one(), Outcome::delivered);
  desk.wake();
  const Send again = desk.one();
  desk.dispatcher.on_acknowledged(record.id, desk.now);
  desk.result(again, Outcome::retry, "no route");
  EXPECT_EQ(desk.row(record).state, DeliveryState::delivered);
  EXPECT_EQ(desk.row(record).reply, "acknowledged");
  EXPECT_TRUE(desk.row(record).done.is_set());
  EXPECT_FALSE(desk.dispatcher.next_wakeup(desk.now));
}

TEST(Dispatcher, KeepsARepetitionThatFailsForTheNextTime) {
  Desk desk({desk::until_acknowledged()});
  const auto record = desk.write("KLVN");
  desk.result(desk.one(), Outcome::delivered);
  desk.wake();
  desk.result(desk.one(), Outcome::retry);
  EXPECT_EQ(desk.row(record).state, DeliveryState::delivered);
  desk.wake();
  EXPECT_EQ(desk.now, desk::kTen + 10 * kMinute);
  EXPECT_EQ(desk.one().message.id, record.id + "/again-2");
}

TEST(Dispatcher, BoundsWhatWaits) {
  Desk desk({desk::plan()});
  const auto plain = desk.write("PLAIN", NoticeKind::day_end);
  for (std::size_t i = 0; i < ChannelQueue::kWaitingMost; ++i) desk.write("S" + std::to_string(i));
  desk.keep();
  EXPECT_EQ(desk.row(plain).state, DeliveryState::expired) << "what is not urgent goes first";
  const auto first = desk::notice("S0", NoticeKind::crossed, desk.now);
  desk.write("ONE-MORE");
  desk.keep();
  EXPECT_EQ(desk.row(first).state, DeliveryState::expired);
  EXPECT_EQ(desk.dispatcher.view()[0].waiting, ChannelQueue::kWaitingMost);
  EXPECT_EQ(desk.dispatcher.view()[0].counters.overflowed, 2U);
}

TEST(Dispatcher, KeepsWhatWaitsWhenItsConfigurationChanges) {
  Desk desk({desk::plan(), desk::plan("gone")});
  const auto record = desk.write("KLVN");
  const auto sends = desk.due();
  ASSERT_EQ(sends.size(), 2U);
  const auto waiting = desk.write("ORRI");
  auto changed = desk::plan();
  changed.per_minute = 60;
  desk.dispatcher.set_channels({desk::plan("new"), changed}, desk.now);
  desk.keep();
  EXPECT_EQ(desk.row(record, "gone").state, DeliveryState::unknown) << "it was being sent";
  EXPECT_EQ(desk.row(waiting, "gone").state, DeliveryState::dead);
  desk.result(sends[1], Outcome::delivered);  // too late, and of a channel that is gone
  desk.result(sends[0], Outcome::delivered);
  EXPECT_EQ(desk.row(record).state, DeliveryState::delivered);
  EXPECT_EQ(desk.one().message.id, waiting.id);
}

TEST(Dispatcher, SendsAgainWhatWasUnderWayWhenItsChannelWasSetUpAnew) {
  Desk desk({desk::plan()});
  const auto record = desk.write("KLVN");
  const Send first = desk.one();
  desk.dispatcher.on_result_lost("mail", desk.now);
  desk.dispatcher.on_result_lost("mail", desk.now);   // nothing is under way any more
  desk.dispatcher.on_result_lost("other", desk.now);  // no such channel
  desk.keep();
  EXPECT_EQ(desk.row(record).unknowns, 1);
  desk.wake();
  const Send again = desk.one();
  EXPECT_EQ(again.message.id, first.message.id);
  desk.result(first, Outcome::delivered);  // an old ticket
  EXPECT_EQ(desk.row(record).state, DeliveryState::sending);
  desk.result(again, Outcome::delivered);
  EXPECT_EQ(desk.row(record).state, DeliveryState::delivered);
}

TEST(Dispatcher, SurvivesAClockThatIsSetBack) {
  Desk desk({desk::plan()});
  desk.write("KLVN");
  desk.result(desk.one(), Outcome::retry);
  desk.now = desk.now - kHour;
  const Nanos start = desk.now.ns;
  for (int i = 0; i < 200 && desk.rows.begin()->second.state != DeliveryState::delivered; ++i) {
    for (const Send& send : desk.due()) desk.result(send, Outcome::delivered);
    desk.later(10 * kSecond);
  }
  EXPECT_EQ(desk.rows.begin()->second.state, DeliveryState::delivered);
  EXPECT_LE(desk.now.ns - start, 16 * kMinute);
}

/// Its events are of a day long past; what waits is as new as it is.
TEST(Dispatcher, WhatIsSaidOfAPlayedDayIsNeitherLateNorTooOld) {
  Desk desk({desk::plan()});
  auto record = desk::notice("KLVN", NoticeKind::crossed, desk.now - 45 * kDayNanos);
  mark_as_rehearsal(record);
  desk.dispatcher.on_written(record, desk.now);
  desk.later(5 * kSecond);
  const Message message = desk.one().message;
  EXPECT_FALSE(message.late);
  EXPECT_EQ(message.title, "Rehearsal: KLVN crossed");
  EXPECT_THAT(message.text, HasSubstr("a past day is played"));
  EXPECT_EQ(message.notices.at(0).notice.age, 0) << "the tape's, in every part of a mail";
}

}  // namespace
}  // namespace brimwatch
