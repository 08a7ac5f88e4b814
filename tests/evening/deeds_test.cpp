// What was done beside what was told. The figures are reckoned by hand in the comments: (got / paid - 1), and of a sale
// in parts the mean of what they got, by shares (average cost, common practice).
#include "evening/deeds.h"

#include <gmock/gmock.h>

#include <string>

#include "record.h"

namespace brimwatch {
namespace {

using namespace testing_support;  // NOLINT(google-build-using-namespace): the record is this test's own
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;
using ::testing::SizeIs;

constexpr Timestamp at(Date day, Nanos of_day) { return Timestamp{day.days * kDayNanos + of_day}; }

Answer deal(AnswerKind kind, double paid, std::int64_t shares, Date day, Nanos of_day = 16 * kHour) {
  static int made = 0;
  Answer out;
  out.id = std::to_string(++made);
  out.kind = kind;
  out.symbol = "KLVN";
  out.pivot = price(50);
  out.price = price(paid);
  out.shares = Shares::whole(shares);
  out.day = day;
  out.time = out.at = at(day, of_day);
  return out;
}
Answer bought(double paid, std::int64_t shares, Date day = kDay) { return deal(AnswerKind::bought, paid, shares, day); }
Answer sold(double got, std::int64_t shares, Date day) { return deal(AnswerKind::sold, got, shares, day); }

/// Over the whole stretch; the last close is 52.
std::vector<Deed> deeds(std::vector<Answer> answers, std::vector<NoticeRecord> told = {crossing()}) {
  ReviewInput input = input_of(std::move(told), calm_days());
  input.options.to = kDay + 25;
  input.answers = std::move(answers);
  return deeds_of(input);
}

NoticeRecord told(NoticeKind kind, Date day, Nanos of_day) {
  NoticeRecord out = crossing();
  out.notice.kind = kind;
  out.notice.day = day;
  out.notice.time = at(day, of_day);
  out.id = notice_id(day, out.symbol, out.notice.pivot, kind, 1);
  return out;
}

TEST(Deeds, StandBesideTheCrossingThatWasToldBeforeThem) {
  const auto all = deeds({bought(50.5, 200)});
  ASSERT_THAT(all, SizeIs(1));
  EXPECT_EQ(all[0].notice_id, crossing().id);
  EXPECT_EQ(all[0].after, kHour);  // told at 15:00, bought at 16:00
  EXPECT_TRUE(all[0].inside);
  EXPECT_NEAR(*all[0].result, (52 / 50.5 - 1) * 100, 1e-9);
  EXPECT_EQ(deed_text(all[0]),
            "KLVN: bought at 50.50 on 2026-03-02, 200 shares, 60 min after its crossing was told at 50.20; held, last "
            "close 52.00: +3.0 %");
}

TEST(Deeds, SayWhatWasBoughtAboveTheRangeAndWhatNothingWasToldOf) {
  EXPECT_THAT(deed_text(deeds({bought(53, 10)})[0]), HasSubstr("told at 50.20, above the buy range;"));
  const auto early = deeds({deal(AnswerKind::bought, 50, 10, kDay, 14 * kHour)});
  EXPECT_THAT(deed_text(early[0]), HasSubstr("no crossing had been told"));
}

TEST(Deeds, SayWhatHadBeenToldBeforeTheSale) {
  const auto all =
      deeds({bought(50, 100), sold(46, 0, kDay + 2)}, {crossing(), told(NoticeKind::fell_under, kDay + 1, 15 * kHour),
                                                       told(NoticeKind::loss_limit, kDay + 2, 15 * kHour + 57 * kMinute),
                                                       told(NoticeKind::gain, kDay + 3, 15 * kHour)});
  ASSERT_THAT(all, SizeIs(1));
  ASSERT_TRUE(all[0].sold);
  EXPECT_EQ(all[0].sold->told, NoticeKind::loss_limit);
  EXPECT_NEAR(*all[0].result, -8, 1e-9);
  EXPECT_THAT(deed_text(all[0]), HasSubstr("; sold at 46.00 on 2026-03-04, 3 min after loss-limit was told: -8.0 %"));
}

TEST(Deeds, OfASaleInPartsTheResultIsThatOfAllParts) {
  const auto all = deeds({bought(50, 200), sold(60, 50, kDay + 3), sold(55, 0, kDay + 5)});
  ASSERT_THAT(all, SizeIs(1));
  EXPECT_THAT(all[0].parts, SizeIs(1));
  EXPECT_NEAR(*all[0].result, 12.5, 1e-9);  // (50 x 60 + 150 x 55) / 200 = 56.25
  EXPECT_THAT(deed_text(all[0]),
              HasSubstr("; 50 sold at 60.00 on 2026-03-05; the rest sold at 55.00 on 2026-03-07: +12.5 %"));
}

TEST(Deeds, TheRestOfAHoldingCountsWithTheLastClose) {
  const auto all = deeds({bought(50, 200), sold(60, 100, kDay + 3)});
  EXPECT_NEAR(*all[0].result, 12, 1e-9);  // (60 + 52) / 2 = 56
  EXPECT_THAT(deed_text(all[0]), HasSubstr("the rest held, last close 52.00: +12.0 %"));
}

TEST(Deeds, ASaleTakesTheSamePartOfEveryPurchase) {
  const auto all = deeds({bought(50, 100), bought(54, 100, kDay + 1), sold(60, 100, kDay + 3), sold(57, 0, kDay + 5)});
  ASSERT_THAT(all, SizeIs(2));
  EXPECT_NEAR(*all[0].result, (58.5 / 50 - 1) * 100, 1e-9);  // half of each at 60, half at 57
  EXPECT_NEAR(*all[1].result, (58.5 / 54 - 1) * 100, 1e-9);
}

TEST(Deeds, APriceThatWasNotSaidIsNoResult) {
  const auto part = deeds({bought(50, 200), sold(0, 50, kDay + 3)});
  EXPECT_FALSE(part[0].result);
  const auto all = deeds({bought(50, 200), sold(0, 0, kDay + 3)});
  EXPECT_FALSE(all[0].result);
  EXPECT_THAT(deed_text(all[0]), HasSubstr("sold on 2026-03-05, the price was not said"));
}

TEST(Deeds, BoughtAgainIsAnother) {
  const auto all = deeds({bought(50, 100), sold(55, 0, kDay + 2), bought(51, 100, kDay + 4)});
  ASSERT_THAT(all, SizeIs(2));
  EXPECT_TRUE(all[0].sold);
  EXPECT_FALSE(all[1].sold);
  EXPECT_NEAR(*all[1].result, (52.0 / 51 - 1) * 100, 1e-9);
}

TEST(Deeds, WhatWasSoldBeforeTheSpanIsNotTold) {
  ReviewInput input = input_of({crossing()}, calm_days());
  input.options.from = kDay + 10;
  input.options.to = kDay + 12;
  input.answers = {bought(50, 100), sold(55, 0, kDay + 2)};
  EXPECT_THAT(deeds_of(input), IsEmpty());
  input.answers = {bought(50, 100), sold(55, 0, kDay + 20)};  // of the future, from there
  const auto all = deeds_of(input);
  ASSERT_THAT(all, SizeIs(1));
  EXPECT_FALSE(all[0].sold);
}

TEST(Deeds, StandInTheReviewInWordsJsonAndPage) {
  ReviewInput input = input_of({crossing()}, calm_days());
  input.options.to = kDay + 25;
  input.answers = {bought(50.5, 200), sold(60, 50, kDay + 3)};
  const Review out = review(input);
  EXPECT_THAT(flat(in_words(out)), HasSubstr("What you did beside what was told: KLVN: bought at 50.50"));
  EXPECT_THAT(to_json(out), HasSubstr("\"sales\":[{\"sold\":60.0,\"sold_on\":\"2026-03-05\",\"shares\":50.0"));
  EXPECT_THAT(to_html(out, input, no_pictures()), HasSubstr("<h2>What you did beside what was told</h2>"));
  input.answers.clear();
  EXPECT_THAT(flat(in_words(review(input))), Not(HasSubstr("What you did")));
}

}  // namespace
}  // namespace brimwatch
