#include "desk.h"
#include "dispatch/backoff.h"

namespace brimwatch {
namespace {

using desk::Desk;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

TEST(Retry, CarriesTheSameIdOnEveryAttempt) {
  Desk desk({desk::plan()});
  const auto record = desk.write("KLVN");
  for (int attempt = 1; attempt <= 5; ++attempt) {
    const Send send = desk.one();
    EXPECT_EQ(send.message.id, record.id);
    EXPECT_EQ(send.message.attempt, attempt);
    desk.result(send, Outcome::retry, "451 later");
    EXPECT_EQ(desk.row(record).state, DeliveryState::pending);
    EXPECT_EQ(desk.row(record).reply, "451 later");
    EXPECT_GT(desk.row(record).next, desk.now);
    desk.wake();
  }
  desk.result(desk.one(), Outcome::delivered);
  EXPECT_EQ(desk.row(record).attempts, 6);
}

TEST(Retry, KeepsADigestTogetherWithItsId) {
  Desk desk({desk::plan()});
  for (int i = 0; i < 10; ++i) desk.write("S" + std::to_string(i));
  const Send first = desk.one();
  desk.result(first, Outcome::retry);
  desk.write("S10");
  desk.result(desk.one(), Outcome::delivered);  // the new one does not wait for the digest's turn
  desk.wake();
  const Send again = desk.one();
  EXPECT_EQ(again.message.id, first.message.id);
  EXPECT_EQ(again.message.notices.size(), 10U);
}

TEST(Retry, WaitsAsLongAsItIsAskedToButNotForEver) {
  Desk desk({desk::plan()});
  desk.write("KLVN", NoticeKind::day_end);
  desk.result(desk.one(), Outcome::retry, "429", std::chrono::seconds{120});
  desk.wake();
  EXPECT_EQ(desk.now, desk::kTen + 120 * kSecond);
  desk.result(desk.one(), Outcome::retry, "429", std::chrono::seconds{86'400});
  desk.write("ORRI", NoticeKind::day_end);
  EXPECT_THAT(desk.due(), IsEmpty()) << "the wish concerns the channel";
  desk.wake();
  EXPECT_EQ(desk.now, desk::kTen + 120 * kSecond + kRetryAfterMost);
}

TEST(Retry, LetsOthersPassOneThatFailsByItself) {
  Desk desk({desk::plan()});
  desk.write("KLVN");
  const Send bad = desk.one();
  desk.result(bad, Outcome::retry, "450 this one is odd");
  const auto good = desk.write("ORRI");
  const Send next = desk.one();
  EXPECT_EQ(next.message.id, good.id);
  desk.result(next, Outcome::delivered);
}

TEST(Retry, HoldsBackALaterNoticeOfTheSameSymbol) {
  Desk desk({desk::plan()});
  const auto first = desk.write("KLVN", NoticeKind::crossed);
  desk.result(desk.one(), Outcome::retry);
  const auto second = desk.write("KLVN", NoticeKind::fell_under);
  EXPECT_THAT(desk.due(), IsEmpty());
  desk.wake();
  const Send again = desk.one();
  EXPECT_EQ(again.message.id, first.id);
  desk.result(again, Outcome::delivered);
  EXPECT_EQ(desk.one().message.id, second.id);
}

TEST(Retry, StopsTryingTheWholeChannelWhenItIsDown) {
  Desk desk({desk::plan()});
  for (int i = 0; i < 3; ++i) desk.write("S" + std::to_string(i));
  desk.result(desk.one(), Outcome::retry);
  desk.result(desk.one(), Outcome::retry);
  EXPECT_THAT(desk.due(), IsEmpty()) << "two in a row: the channel is down";
}

/// Of this machine's own screen: who has just logged in is to see what waits.
TEST(Retry, PausesNoLongerThanItsPlanSays) {
  ChannelPlan near = desk::plan();
  near.retry_most = kMinute;
  Desk desk({near});
  desk.write("KLVN", NoticeKind::day_end);
  for (int i = 0; i < 40; ++i) {
    const Timestamp before = desk.now;
    desk.result(desk.one(), Outcome::retry);
    desk.wake();
    EXPECT_LE(desk.now - before, kMinute) << i;
  }
}

TEST(Retry, GoesOnAtOnceWhenTheChannelIsBack) {
  Desk desk({desk::plan()});
  for (int i = 0; i < 4; ++i) desk.write("S" + std::to_string(i), NoticeKind::day_end);
  for (int i = 0; i < 12; ++i) {
    desk.result(desk.one(), Outcome::retry);
    desk.wake();
  }
  const Timestamp back = desk.now;
  int sent = 0;
  for (; sent < 10; ++sent) {
    const auto sends = desk.due();
    if (sends.empty()) break;
    desk.result(sends[0], Outcome::delivered);
  }
  EXPECT_GE(sent, 2);
  for (const auto& [key, row] : desk.rows) EXPECT_EQ(row.state, DeliveryState::delivered) << key.first;
  EXPECT_EQ(desk.now, back) << "nobody waits out a pause any more";
}

TEST(Retry, ExpiresInTheEnd) {
  Desk desk({desk::plan()});
  const auto record = desk.write("KLVN");
  for (int i = 0; i < 1000 && !desk.row(record).done.is_set(); ++i) {
    for (const Send& send : desk.due()) desk.result(send, Outcome::retry, "no route");
    if (!desk.row(record).done.is_set()) desk.wake();
  }
  EXPECT_EQ(desk.row(record).state, DeliveryState::expired);
  EXPECT_EQ(desk.row(record).done, desk::kTen + 15 * kMinute);
  EXPECT_FALSE(desk.dispatcher.next_wakeup(desk.now));
}

TEST(Retry, ExpiryAloneEndsIt) {
  auto plan = desk::plan();
  plan.expire_urgent = 48 * kHour;
  Desk desk({plan});
  const auto record = desk.write("KLVN");
  for (int i = 0; i < 100'000 && !desk.row(record).done.is_set(); ++i) {
    for (const Send& send : desk.due()) desk.result(send, Outcome::retry, "no route");
    if (!desk.row(record).done.is_set()) desk.wake();
  }
  EXPECT_EQ(desk.row(record).state, DeliveryState::expired);
  EXPECT_EQ(desk.row(record).done, desk::kTen + 48 * kHour);
  EXPECT_GT(desk.row(record).attempts, 1000);
}

TEST(Retry, OfWhatGoesOutTogetherEachExpiresInItsTime) {
  auto plan = desk::plan();
  plan.per_minute = 1;
  Desk desk({plan});
  const auto crossing = desk.write("KLVN");
  const auto review = desk.write("", NoticeKind::self_check);
  const auto more = desk.write("NIVO");
  for (int i = 0; i < 100'000 && !desk.row(review).done.is_set(); ++i) {
    for (const Send& send : desk.due()) desk.result(send, Outcome::retry, "no route");
    if (!desk.row(review).done.is_set()) desk.wake();
  }
  for (const auto& urgent : {crossing, more}) {
    EXPECT_EQ(desk.row(urgent).state, DeliveryState::expired);
    EXPECT_EQ(desk.row(urgent).done, desk::kTen + 15 * kMinute);
  }
  EXPECT_EQ(desk.row(review).state, DeliveryState::expired);
  EXPECT_EQ(desk.row(review).done, desk::kTen + 48 * kHour);
}

TEST(Retry, DoesNotRepeatWhatWasRefused) {
  Desk desk({desk::plan()});
  const auto record = desk.write("KLVN");
  desk.result(desk.one(), Outcome::dead, "550 no such box");
  EXPECT_EQ(desk.row(record).state, DeliveryState::dead);
  EXPECT_EQ(desk.row(record).reply, "550 no such box");
  EXPECT_THAT(desk.due(), IsEmpty());
}

TEST(Retry, CountsWhatSomeTookAndOthersRefusedAsArrivedAndTellsTheRefusal) {
  Desk desk({desk::plan()});
  const auto record = desk.write("KLVN");
  const std::string reply = "me@example.org: 250 taken; gone@example.org: 550 no such box";
  const Send send = desk.one();
  desk.dispatcher.on_result(send.channel, send.ticket, {Outcome::dead, reply, {}, true}, desk.now);
  desk.keep();
  EXPECT_EQ(desk.row(record).state, DeliveryState::delivered);
  EXPECT_EQ(desk.row(record).reply, reply);
  EXPECT_EQ(desk.dispatcher.view()[0].counters.delivered, 1U);
  EXPECT_EQ(desk.dispatcher.view()[0].counters.dead, 0U);
  EXPECT_THAT(desk.due(), IsEmpty());
  const auto reports = desk.dispatcher.take_reports();
  ASSERT_EQ(reports.size(), 1U);
  EXPECT_FALSE(reports[0].works);
  EXPECT_EQ(reports[0].reply, reply);
  EXPECT_TRUE(reports[0].some);
  EXPECT_EQ(notice_of(reports[0], desk::kDay, 1, std::chrono::hours{-5}).detail,
            "channel mail: some recipients refuse notices; since 10:00:00 (" + reply +
                "). The others get them. Put the address right, or take it out.");
  desk.write("ORRI");
  desk.result(desk.one(), Outcome::delivered);
  const auto back = desk.dispatcher.take_reports();
  ASSERT_EQ(back.size(), 1U);
  EXPECT_EQ(notice_of(back[0], desk::kDay, 2, std::chrono::hours{-5}).detail,
            "channel mail: everybody gets the notices again; some did not since 10:00:00.");
}

TEST(Retry, RepeatsUntilAcknowledgedWhatSomeTook) {
  Desk desk({desk::until_acknowledged()});
  desk.write("KLVN");
  const Send send = desk.one();
  desk.dispatcher.on_result(send.channel, send.ticket, {Outcome::dead, "250; 550", {}, true}, desk.now);
  desk.wake();
  EXPECT_THAT(desk.due(), testing::SizeIs(1));
}

TEST(Retry, TriesTheNoticesOfARefusedDigestOneByOne) {
  Desk desk({desk::plan()});
  for (int i = 0; i < 10; ++i) desk.write("S" + std::to_string(i));
  desk.result(desk.one(), Outcome::dead, "552 too large");
  int singles = 0;
  for (; singles < 20; ++singles) {
    const auto sends = desk.due();
    if (sends.empty()) break;
    EXPECT_EQ(sends[0].message.notices.size(), 1U);
    EXPECT_EQ(sends[0].message.id, sends[0].message.notices[0].id);
    desk.result(sends[0], Outcome::delivered);
  }
  EXPECT_EQ(singles, 10);
}

TEST(Unknown, IsCountedAndSentAgainWithTheSameId) {
  Desk desk({desk::plan()});
  const auto record = desk.write("KLVN");
  desk.result(desk.one(), Outcome::unknown, "closed after the final dot");
  EXPECT_EQ(desk.row(record).unknowns, 1);
  desk.wake();
  const Send again = desk.one();
  EXPECT_EQ(again.message.id, record.id);
  EXPECT_THAT(again.message.text, HasSubstr("you may have it twice"));
  desk.result(again, Outcome::delivered);
  EXPECT_EQ(desk.row(record).unknowns, 1);
  EXPECT_EQ(desk.dispatcher.view()[0].counters.unknown, 1U);
}

TEST(Unknown, IsNotMentionedToASideThatKnowsIds) {
  auto plan = desk::plan();
  plan.id_aware = true;
  Desk desk({plan});
  desk.write("KLVN");
  desk.result(desk.one(), Outcome::unknown);
  desk.wake();
  EXPECT_THAT(desk.one().message.text, Not(HasSubstr("twice")));
}

TEST(Unknown, DoesNotFloodASideThatDoesNotKnowIds) {
  Desk desk({desk::plan()});
  const auto record = desk.write("KLVN");
  int sent = 0;
  for (; sent < 50 && !desk.row(record).done.is_set(); ++sent) {
    if (sent > 0) desk.wake();
    desk.result(desk.one(), Outcome::unknown);
  }
  EXPECT_EQ(sent, 4);
  EXPECT_EQ(desk.row(record).state, DeliveryState::unknown);
}

TEST(Trouble, IsToldOnceAndWhenItIsOver) {
  Desk desk({desk::plan()});
  desk.write("KLVN", NoticeKind::day_end);
  std::vector<ChannelReport> reports;
  for (int i = 0; i < 8; ++i) {
    desk.result(desk.one(), Outcome::retry, "connection refused");
    for (auto& report : desk.dispatcher.take_reports()) reports.push_back(report);
    desk.wake();
  }
  ASSERT_EQ(reports.size(), 1U);
  EXPECT_EQ(reports[0].channel, "mail");
  EXPECT_FALSE(reports[0].works);
  EXPECT_EQ(reports[0].reply, "connection refused");
  EXPECT_EQ(reports[0].since, desk::kTen);
  EXPECT_TRUE(desk.dispatcher.view()[0].in_trouble);
  desk.result(desk.one(), Outcome::delivered);
  reports = desk.dispatcher.take_reports();
  ASSERT_EQ(reports.size(), 1U);
  EXPECT_TRUE(reports[0].works);
  EXPECT_FALSE(desk.dispatcher.view()[0].in_trouble);
}

TEST(Trouble, OfAChannelThatComesAndGoesIsNotToldAtEveryTurn) {
  Desk desk({desk::plan()});
  int told = 0;
  for (int i = 0; i < 20; ++i) {
    desk.later(20 * kSecond);
    desk.write("S" + std::to_string(i));
    desk.result(desk.one(), Outcome::dead, "550");
    told += static_cast<int>(desk.dispatcher.take_reports().size());
    desk.later(20 * kSecond);
    desk.write("T" + std::to_string(i));
    desk.result(desk.one(), Outcome::delivered);
    told += static_cast<int>(desk.dispatcher.take_reports().size());
  }
  EXPECT_LE(told, 4) << "in thirteen minutes";
  EXPECT_GE(told, 2);
}

/// The second refusal comes a minute after "works again", the third after that: all in one report, in its time.
TEST(Trouble, RightAfterItWasOverIsToldWhenTenMinutesHavePassed) {
  Desk desk({desk::plan()});
  desk.write("KLVN");
  desk.result(desk.one(), Outcome::dead, "550 no");
  EXPECT_EQ(desk.dispatcher.take_reports().size(), 1U);
  desk.write("NIVO");
  desk.result(desk.one(), Outcome::delivered);
  EXPECT_EQ(desk.dispatcher.take_reports().size(), 1U);
  for (const char* symbol : {"HALQ", "ORRI"}) {
    desk.later(kMinute);
    desk.write(symbol);
    desk.result(desk.one(), Outcome::dead, "552 too large");
    desk.write(std::string(symbol) + "B");
    desk.result(desk.one(), Outcome::delivered);
    EXPECT_THAT(desk.dispatcher.take_reports(), IsEmpty());
  }
  desk.wake();
  EXPECT_EQ(desk.now, desk::kTen + 10 * kMinute);
  EXPECT_THAT(desk.due(), IsEmpty());
  const auto reports = desk.dispatcher.take_reports();
  ASSERT_EQ(reports.size(), 1U);
  EXPECT_EQ(
      notice_of(reports[0], desk::kDay, 1, std::chrono::hours{-5}).detail,
      "channel refused notices from 10:01:00 on (552 too large), and it works again. 2 notices became too old or were "
      "refused meanwhile: `brimwatch journal --deliveries` shows them.");
  desk.later(kHour);
  EXPECT_THAT(desk.due(), IsEmpty());
  EXPECT_THAT(desk.dispatcher.take_reports(), IsEmpty());
}

TEST(Trouble, IsSeenWhenAnAttemptDoesNotEnd) {
  Desk desk({desk::plan()});
  desk.write("KLVN");
  const Send send = desk.one();
  desk.wake();
  EXPECT_EQ(desk.now, desk::kTen + 65 * kSecond);
  EXPECT_THAT(desk.due(), IsEmpty());
  const auto reports = desk.dispatcher.take_reports();
  ASSERT_EQ(reports.size(), 1U);
  EXPECT_THAT(reports[0].reply, HasSubstr("does not end"));
  desk.result(send, Outcome::delivered);
  EXPECT_EQ(desk.dispatcher.take_reports().size(), 1U);
}

TEST(Trouble, ReadsAsASentence) {
  const ChannelReport down{
      .channel = "mail", .since = desk::kTen, .at = desk::kTen + kMinute, .reply = "connection refused"};
  const auto offset = std::chrono::hours{-5};
  EXPECT_EQ(notice_of(down, desk::kDay, 1, offset).detail,
            "channel does not get through; since 10:00:00 (connection refused). Notices wait and go out marked as late. "
            "`brimwatch channels try` tests it.");
  EXPECT_EQ(notice_of(down, desk::kDay, 2, offset).kind, NoticeKind::self_check);
  ChannelReport up = down;
  up.works = true;
  EXPECT_THAT(notice_of(up, desk::kDay, 1, offset).detail, HasSubstr("Nothing was lost"));
  up.gone = 3;
  EXPECT_THAT(notice_of(up, desk::kDay, 1, offset).detail, HasSubstr("3 notices became too old"));
  ChannelReport refused = down;
  refused.refused = true;
  EXPECT_THAT(notice_of(refused, desk::kDay, 1, offset).detail, HasSubstr("refuses notices"));
}

// What the metrics say of a channel: deliveries where they end, attempts as they are made.
TEST(DeliveryCounters, EachEndAndEachAttemptIsCountedOnce) {
  Desk desk({desk::plan()});
  const auto counters = [&] { return desk.dispatcher.view()[0].counters; };
  desk.write("A");
  desk.result(desk.one(), Outcome::retry, "451 later");
  EXPECT_EQ(counters().retried, 0U) << "the first attempt is none";
  desk.wake();
  desk.result(desk.one(), Outcome::delivered);
  EXPECT_EQ(counters().retried, 1U);
  EXPECT_EQ(counters().delivered, 1U);
  desk.later(kMinute);
  desk.write("B");
  desk.result(desk.one(), Outcome::dead, "550 no");
  EXPECT_EQ(counters().dead, 1U);
  desk.later(kMinute);
  desk.write("C");
  desk.result(desk.one(), Outcome::unknown, "no answer");
  EXPECT_EQ(counters().unknown, 1U) << "an attempt";
  EXPECT_EQ(counters().ended_unknown, 0U) << "it goes on";
  desk.later(kHour);
  desk.due();
  EXPECT_EQ(counters().ended_unknown, 1U);
  EXPECT_EQ(counters().expired, 0U) << "it is not known whether it arrived";
  const auto old = desk::notice("D", NoticeKind::crossed, desk.now - kHour);
  desk.dispatcher.on_written(old, desk.now);
  desk.due();
  EXPECT_EQ(counters().expired, 1U);
  EXPECT_EQ(counters().delivered + counters().dead + counters().expired + counters().ended_unknown, 4U);
}

// Somebody logs in after lunch: the crossing of the morning is too old to be sent, and only this channel is looked at.
TEST(Retry, WhatBecameTooOldIsToldOnceAndToTheChannelToo) {
  Desk desk({desk::plan()});
  desk.write("KLVN");
  desk.write("ORRI");
  for (int i = 0; i < 3; ++i) {
    desk.result(desk.one(), Outcome::retry, "no session bus");
    desk.wake();
  }
  (void)desk.dispatcher.take_reports();
  desk.later(20 * kMinute);
  EXPECT_TRUE(desk.due().empty());
  const auto reports = desk.dispatcher.take_reports();
  ASSERT_EQ(reports.size(), 1U) << "two are lost";
  EXPECT_TRUE(reports[0].lost);
  EXPECT_THAT(notice_of(reports[0], kDay, 1, std::chrono::hours{-5}).detail,
              testing::HasSubstr("channel mail did not get notices through before they were too old"));
  desk.write("", NoticeKind::self_check);
  desk.result(desk.one(), Outcome::delivered);
  (void)desk.dispatcher.take_reports();
  desk.write("NIVO");
  desk.result(desk.one(), Outcome::retry, "no session bus");
  desk.later(20 * kMinute);
  EXPECT_TRUE(desk.due().empty());
  EXPECT_EQ(desk.dispatcher.take_reports().size(), 1U) << "another time";
}

}  // namespace
}  // namespace brimwatch
