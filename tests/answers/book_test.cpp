// What answers come to: lists and holdings, from the rows alone.
#include "answers/book.h"

#include <gmock/gmock.h>

#include "answers/lists.h"
#include "support/watch_on.h"

namespace brimwatch {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

constexpr Date kMonday = Date::of(2026, 11, 23);

Answer of(AnswerKind kind, const char* symbol, const char* pivot, const char* price = "0", int shares = 0) {
  static int made = 0;
  Answer answer;
  answer.id = std::to_string(++made);
  answer.kind = kind;
  answer.symbol = symbol;
  answer.pivot = *parse_price(pivot);
  answer.price = *parse_price(price);
  answer.shares = Shares::whole(shares);
  answer.day = kMonday;
  return answer;
}

std::vector<std::string> in_force(const AnswerBook& book, const WatchList& given) {
  Settings settings;
  settings.watches = given;
  lay_over(settings, book);
  std::vector<std::string> out;
  for (const Watch& one : settings.watches) out.push_back(one.symbol + " " + to_string(one.pivot));
  return out;
}

const WatchList& own_list() {
  static const WatchList list{test::watch_on("KLVN", "48.35"), test::watch_on("KLVN", "51.20"),
                              test::watch_on("ORRI", "9.00")};
  return list;
}

TEST(AnswerBook, WithoutAnswersTheListIsTheUsersOwn) {
  Settings settings;
  settings.watches = own_list();
  lay_over(settings, AnswerBook());
  EXPECT_EQ(settings.given, nullptr) << "nothing is copied";
  EXPECT_EQ(settings.watches, own_list());
}

TEST(AnswerBook, AddsAndDropsAndTakesBack) {
  AnswerBook book;
  book.take(of(AnswerKind::add, "NIVO", "8.10"));
  book.take(of(AnswerKind::drop, "KLVN", "48.35"));
  EXPECT_THAT(in_force(book, own_list()), ElementsAre("KLVN 51.20", "ORRI 9.00", "NIVO 8.10"));
  book.take(of(AnswerKind::add, "KLVN", "48.35"));
  book.take(of(AnswerKind::drop, "NIVO", "8.10"));
  EXPECT_THAT(in_force(book, own_list()), ElementsAre("KLVN 48.35", "KLVN 51.20", "ORRI 9.00"));
}

TEST(AnswerBook, AnIdCountsOnce) {
  AnswerBook book;
  const Answer add = of(AnswerKind::add, "NIVO", "8.10");
  EXPECT_TRUE(book.take(add));
  book.take(of(AnswerKind::drop, "NIVO", "8.10"));
  EXPECT_FALSE(book.take(add));
  EXPECT_THAT(book.added(), IsEmpty());
}

TEST(AnswerBook, TheListsRulesHoldForWhatIsAdded) {
  Settings settings;
  settings.watches = {test::watch_on("KLVN", "48.35")};
  settings.rules.range = 3'000'000;
  AnswerBook book;
  Answer add = of(AnswerKind::add, "KLVN", "50.00");
  add.note = "second chance";
  add.last_day = kMonday + 30;
  book.take(add);
  lay_over(settings, book);
  const Watch watch = settings.watches[1];
  EXPECT_EQ(watch.range_top, *parse_price("51.50"));
  EXPECT_EQ(watch.note, "second chance");
  EXPECT_EQ(watch.until, kMonday + 30);
  EXPECT_EQ(watch.calendar, settings.watches[0].calendar) << "a symbol trades in one place";
}

TEST(AnswerBook, AHoldingKeepsItsWatch) {
  AnswerBook book;
  book.take(of(AnswerKind::bought, "NIVO", "8.10", "8.20", 100));
  EXPECT_THAT(in_force(book, own_list()), testing::Contains("NIVO 8.10"));
  book.take(of(AnswerKind::sold, "NIVO", "8.10"));
  EXPECT_EQ(in_force(book, own_list()).size(), 3U);
}

TEST(AnswerBook, SeveralPurchasesHaveOneMean) {
  AnswerBook book;
  book.take(of(AnswerKind::bought, "KLVN", "48.35", "48.00", 100));
  book.take(of(AnswerKind::bought, "KLVN", "48.35", "52.00", 300));
  const Position position = position_of(*book.holding("KLVN"), [](Date) { return 1.0; });
  EXPECT_EQ(position.bought, *parse_price("51"));
  EXPECT_EQ(position.shares, Shares::whole(400));
}

TEST(AnswerBook, ASplitMovesPriceAndShares) {
  AnswerBook book;
  book.take(of(AnswerKind::bought, "KLVN", "48.35", "48.60", 100));
  Answer later = of(AnswerKind::bought, "KLVN", "48.35", "26.30", 200);
  later.day = kMonday + 3;  // 2:1 on the day before
  book.take(later);
  const auto since = [](Date day) { return day < kMonday + 2 ? 0.5 : 1.0; };
  const Position position = position_of(*book.holding("KLVN"), since);
  EXPECT_EQ(position.bought, *parse_price("25.30"));  // 200 at 24.30, 200 at 26.30
  EXPECT_EQ(position.shares, Shares::whole(400));
}

Position position_now(const AnswerBook& book, const char* symbol) {
  return position_of(*book.holding(symbol), [](Date) { return 1.0; });
}

// The average cost of what is held, as common practice reckons it: a sale takes shares away and leaves the mean.
TEST(AnswerBook, ASaleOfAPartLeavesTheMean) {
  AnswerBook book;
  book.take(of(AnswerKind::bought, "KLVN", "48.35", "48.00", 100));
  book.take(of(AnswerKind::bought, "KLVN", "48.35", "52.00", 300));
  book.take(of(AnswerKind::sold, "KLVN", "48.35", "60.00", 300));
  EXPECT_EQ(position_now(book, "KLVN").bought, *parse_price("51"));
  EXPECT_EQ(position_now(book, "KLVN").shares, Shares::whole(100));
  book.take(of(AnswerKind::bought, "KLVN", "48.35", "57.00", 50));  // 100 at 51, 50 at 57
  EXPECT_EQ(position_now(book, "KLVN").bought, *parse_price("53"));
  book.take(of(AnswerKind::sold, "KLVN", "48.35"));
  EXPECT_EQ(book.holding("KLVN"), nullptr);
  book.take(of(AnswerKind::bought, "KLVN", "51.20", "51.50", 10));
  EXPECT_EQ(position_now(book, "KLVN").bought, *parse_price("51.5")) << "what was sold is past";
}

TEST(AnswerBook, PartsOfAShareCount) {
  AnswerBook book;
  Answer half = of(AnswerKind::bought, "KLVN", "48.35", "48.00");
  half.shares = Shares{500'000};
  book.take(half);
  half.id = "more", half.price = *parse_price("50"), half.shares = Shares{1'500'000};
  book.take(half);
  EXPECT_EQ(position_now(book, "KLVN").bought, *parse_price("49.5"));
  half.id = "less", half.kind = AnswerKind::sold, half.shares = Shares{250'000};
  book.take(half);
  EXPECT_EQ(position_now(book, "KLVN").shares, Shares{1'750'000});
}

TEST(AnswerBook, HowManyAreHeldIsNotKnownWhereOnePurchaseDoesNotSay) {
  AnswerBook book;
  book.take(of(AnswerKind::bought, "KLVN", "48.35", "48.00"));
  book.take(of(AnswerKind::bought, "KLVN", "48.35", "52.00", 300));
  EXPECT_EQ(position_now(book, "KLVN").bought, *parse_price("52"));
  EXPECT_EQ(position_now(book, "KLVN").shares, Shares{});
}

TEST(AnswerBook, ASaleIsInTheTermsOfItsDay) {
  AnswerBook book;
  book.take(of(AnswerKind::bought, "KLVN", "48.35", "48.60", 100));
  Answer later = of(AnswerKind::sold, "KLVN", "48.35", "30.00", 50);
  later.day = kMonday + 3;  // 2:1 on the day before: 50 of 200
  book.take(later);
  const auto since = [](Date day) { return day < kMonday + 2 ? 0.5 : 1.0; };
  const Position position = position_of(*book.holding("KLVN"), since);
  EXPECT_EQ(position.bought, *parse_price("24.30"));
  EXPECT_EQ(position.shares, Shares::whole(150));
}

TEST(AnswerBook, OneMorePurchaseAfterASplitLeavesThePivotInItsOwnTerms) {
  AnswerBook book;
  book.take(of(AnswerKind::bought, "KLVN", "48.35", "48.60", 100));
  Answer later = of(AnswerKind::bought, "KLVN", "48.35", "26.30", 200);
  later.day = kMonday + 3;
  book.take(later);
  EXPECT_EQ(book.holding("KLVN")->watch_from, kMonday) << "48.35 is a price of that day";
}

TEST(AnswerBook, WhatStandsKeepsItsOrderThoughTheClockWasSetBack) {
  AnswerBook book;
  Answer bought = of(AnswerKind::bought, "KLVN", "48.35", "48.00", 100);
  bought.at = Timestamp{2 * kHour};
  Answer sold = of(AnswerKind::sold, "KLVN", "48.35", "50.00", 40);
  sold.at = Timestamp{kHour};
  book.take(bought), book.take(sold);
  const AnswerBook again(book.standing());
  EXPECT_EQ(position_now(again, "KLVN").shares, Shares::whole(60));
}

TEST(AnswerBook, TheFileForPeopleIsAWatchList) {
  AnswerBook book;
  Answer add = of(AnswerKind::add, "NIVO", "8.10");
  add.note = "a \"flat\" base\\";
  add.last_day = kMonday;
  book.take(add);
  book.take(of(AnswerKind::drop, "ORRI", "9.00"));
  const std::string text = added_list(book);
  EXPECT_THAT(text, HasSubstr("# dropped: ORRI 9.00\n"));
  EXPECT_THAT(
      text,
      HasSubstr("[[watch]]\nsymbol = \"NIVO\"\npivot = 8.10\nnote = \"a \\\"flat\\\" base\\\\\"\nuntil = 2026-11-23\n"));
}

/// The same book as of the rows in that order, whatever they were before: among several machines.
TEST(AnswerBook, WhatTakesEffectAnewStandsBehindAllOthers) {
  const Answer bought = of(AnswerKind::bought, "KLVN", "48.35", "48.60", 100),
               sold = of(AnswerKind::sold, "KLVN", "48.35");
  const Answer more = of(AnswerKind::bought, "KLVN", "48.35", "50", 50);
  const Answer drop = of(AnswerKind::drop, "KLVN", "51.20"), add = of(AnswerKind::add, "KLVN", "51.20");
  std::vector<Answer> rows{bought, sold, more, drop, add};
  AnswerBook book(rows);
  for (const std::size_t again : {0U, 1U, 3U, 0U, 2U, 4U, 2U}) {
    const Answer one = rows[again];
    rows.erase(rows.begin() + again), rows.push_back(one);
    book.take_again(one);
    const AnswerBook made(rows);
    EXPECT_EQ(book.added(), made.added());
    EXPECT_EQ(book.dropped(), made.dropped());
    EXPECT_TRUE(book.knows(one.id));
  }
  book = AnswerBook({bought, more});
  book.take_again(bought);
  EXPECT_EQ(book.holdings(), AnswerBook({more, bought}).holdings());
  book.take_again(sold);
  EXPECT_THAT(book.holdings(), IsEmpty());
}

}  // namespace
}  // namespace brimwatch
