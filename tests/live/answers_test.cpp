// What a person says back: in force at once, kept before it is said to be done, the same after a restart and a reload.
#include <filesystem>
#include <fstream>

#include "house_rig.h"

namespace brimwatch::simulation {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;
using testing::StartsWith;

struct Answers : HouseRig {
  void ask(AnswerRequest request) {
    said.clear();
    if (request.who.empty()) request.who = "test";
    house->answer(
        request, [this](const Result<AnswerDone>& done) { said = done ? done->words : "refused: " + done.error().text; });
  }
  std::string say(const AnswerRequest& request) {
    ask(request);
    pass(kSecond);
    return said;
  }
  std::string add(const char* symbol, const char* pivot) {
    return say({.kind = AnswerKind::add, .symbol = symbol, .pivot = pivot});
  }
  std::string mute(const char* symbol, const char* span) {
    return say({.kind = AnswerKind::mute, .symbol = symbol, .span = span});
  }
  std::string drop(const char* symbol) { return say({.kind = AnswerKind::drop, .symbol = symbol}); }
  std::string buy(const char* symbol, const char* price, const char* shares = "") {
    return say({.kind = AnswerKind::bought, .symbol = symbol, .price = price, .shares = shares});
  }
  std::string sell(const char* symbol, const char* shares = "") {
    return say({.kind = AnswerKind::sold, .symbol = symbol, .shares = shares});
  }

  bool reload(Settings settings) {
    Loaded loaded;
    loaded.settings = std::move(settings);
    const bool done = house->apply(make_ready(std::move(loaded)));
    pass(kSecond);
    return done;
  }
  /// A new process, with what the journal has.
  void restart() {
    RestoredState state;
    for (const WatchState& one : keeper.kept.watches) state.watches.push_back(one);
    for (const SymbolState& one : keeper.kept.symbols) state.symbols.push_back(one);
    state.answers = keeper.kept.answers;
    open();
    house->restore(std::move(state));
    begin();
    pass(kSecond);
    sent.clear();
  }
  [[nodiscard]] std::vector<std::string> watched() const {
    std::vector<std::string> names;
    for (const WatchRow& row : house->snapshot().watches) names.push_back(row.symbol + " " + to_string(row.pivot));
    return names;
  }
  [[nodiscard]] WatchRow row(const char* symbol) const {
    for (const WatchRow& one : house->snapshot().watches)
      if (one.symbol == symbol) return one;
    return {};
  }
  /// As far as the print guard lets it: twice.
  void twice(const char* symbol, const char* price) { trade(symbol, price), trade(symbol, price), pass(kSecond); }

  std::string said;
};

TEST_F(Answers, AreSaidToBeDoneWhenTheyAreKept) {
  keeper.hangs = true;
  ask({.kind = AnswerKind::mute, .symbol = "KLVN", .span = "hour"});
  pass(kSecond);
  EXPECT_EQ(said, "");
  EXPECT_TRUE(row("KLVN").muted_until.is_set()) << "in force meanwhile";
  keeper.hangs = false;
  keeper.answer(true);
  pass(kSecond);
  EXPECT_EQ(said, "KLVN 20.00 is muted until 11:30:20");
  ASSERT_EQ(keeper.kept.answers.size(), 1U);
  EXPECT_EQ(keeper.kept.answers[0].who, "test");
}

TEST_F(Answers, ThatCannotBeKeptSaySo) {
  keeper.hangs = true;
  ask({.kind = AnswerKind::mute, .symbol = "KLVN", .span = "hour"});
  pass(kSecond);
  keeper.answer(false);
  pass(kSecond);
  EXPECT_THAT(said, HasSubstr("not kept"));
  house->on_journal("the disk is full");
  EXPECT_THAT(mute("ORRI", "hour"), StartsWith("refused: an answer that cannot be kept is none: the disk is full"));
  EXPECT_FALSE(row("ORRI").muted_until.is_set());
}

TEST_F(Answers, MuteKeepsTheNoticeAndSendsNothing) {
  mute("KLVN", "hour");
  trade("KLVN", "20.10");
  pass(kSecond);
  EXPECT_EQ(times_sent("KLVN"), 0U);
  EXPECT_EQ(times_kept("KLVN"), 1U);
  pass(kHour);
  EXPECT_EQ(times_sent("KLVN"), 0U) << "no burst when it ends";
  twice("KLVN", "21.10");
  EXPECT_EQ(times_sent("left the range"), 1U);
}

TEST_F(Answers, MuteSurvivesRestartAndReloadAndNoLonger) {
  EXPECT_EQ(mute("KLVN", "today"), "KLVN 20.00 is muted for the rest of today");
  restart();
  EXPECT_TRUE(reload(sample()));
  trade("KLVN", "20.10");
  pass(kSecond);
  EXPECT_EQ(times_sent("KLVN"), 0U);
  say({.kind = AnswerKind::unmute, .symbol = "KLVN"});
  twice("KLVN", "21.10");
  EXPECT_EQ(times_sent("left the range"), 1U);
}

TEST_F(Answers, AddedIsInForceAtOnceAndAfterRestartAndReload) {
  EXPECT_EQ(add("NIVO", "8.00"), "NIVO 8.00 is watched");
  EXPECT_THAT(watched(), testing::ElementsAre("KLVN 20.00", "ORRI 50.00", "NIVO 8.00"));
  EXPECT_TRUE(row("NIVO").added);
  trade("NIVO", "7.95"), trade("NIVO", "8.01");
  pass(kSecond);
  EXPECT_EQ(times_sent("NIVO crossed"), 1U);
  EXPECT_TRUE(reload(sample()));
  EXPECT_EQ(watched().size(), 3U);
  restart();
  EXPECT_EQ(watched().size(), 3U);
  trade("NIVO", "8.02");
  pass(kSecond);
  EXPECT_EQ(times_sent("NIVO"), 0U) << "told before the restart";
}

TEST_F(Answers, AReloadThatWasReadBeforeTheAnswerDoesNotLoseIt) {
  Loaded loaded;
  loaded.settings = sample();
  ReadyDesk ready = make_ready(std::move(loaded));
  add("NIVO", "8.00");
  EXPECT_TRUE(house->apply(std::move(ready)));
  pass(kSecond);
  EXPECT_EQ(watched().size(), 3U);
}

TEST_F(Answers, DroppedComesBackOnlyWhenItIsAdded) {
  EXPECT_EQ(drop("KLVN"), "KLVN 20.00 is no longer watched; your own lists stay as they are");
  trade("KLVN", "20.10");
  pass(kSecond);
  EXPECT_EQ(times_kept("KLVN"), 0U);
  EXPECT_TRUE(reload(sample()));
  restart();
  EXPECT_THAT(watched(), testing::ElementsAre("ORRI 50.00"));
  EXPECT_EQ(add("KLVN", "20.00"), "KLVN 20.00 is watched");
  EXPECT_FALSE(row("KLVN").added) << "it is that of the user's own list";
}

TEST_F(Answers, DroppedAndAddedOnOneDayGoesOnCounting) {
  trade("KLVN", "20.10");
  pass(kSecond);
  drop("KLVN");
  restart();
  sent.clear();
  EXPECT_EQ(add("KLVN", "20.00"), "KLVN 20.00 is watched");
  trade("KLVN", "20.15");
  pass(kSecond);
  EXPECT_EQ(times_sent("KLVN"), 0U) << "told before it was dropped";
  twice("KLVN", "19.00"), twice("KLVN", "20.10");
  EXPECT_EQ(times_sent("KLVN crossed"), 1U);
  std::set<std::string> ids;
  for (const NoticeRecord& one : keeper.kept.notices) EXPECT_TRUE(ids.insert(one.id).second) << one.id << " twice";
}

TEST_F(Answers, BoughtTakesTheLossLimitFromOnesOwnPrice) {
  trade("KLVN", "20.10");
  EXPECT_EQ(buy("KLVN", "20.50", "200"),
            "KLVN is held from 20.50, 200 shares; loss limit 18.86, gains told at 24.60 and 25.625");
  EXPECT_EQ(row("KLVN").loss_limit, *parse_price("18.86"));
  EXPECT_EQ(row("KLVN").shares, Shares::whole(200));
  twice("KLVN", "18.90");
  EXPECT_EQ(times_sent("loss limit"), 0U);
  twice("KLVN", "18.85");
  EXPECT_EQ(times_sent("loss limit 18.86"), 1U);
  restart();
  twice("KLVN", "18.50");
  EXPECT_EQ(times_sent("loss limit"), 0U) << "told before the restart";
}

TEST_F(Answers, OneMorePurchaseMakesTheMean) {
  trade("KLVN", "20.10");
  buy("KLVN", "20.00", "100");
  EXPECT_THAT(buy("KLVN", "21.00", "300"), StartsWith("KLVN is held from 20.75, 400 shares"));
  EXPECT_THAT(buy("KLVN", "21.50"), StartsWith("KLVN is held from 21.50; loss")) << "without a count the last price";
}

TEST_F(Answers, WhatIsHeldIsWatchedUntilItIsSold) {
  trade("KLVN", "20.10");
  buy("KLVN", "20.10");
  EXPECT_THAT(drop("KLVN"), HasSubstr("say `brimwatch sold KLVN` first"));
  Settings without = sample();
  without.watches = {test::watch_on("ORRI", "50.00")};
  EXPECT_TRUE(reload(without));
  EXPECT_EQ(row("KLVN").bought, *parse_price("20.10"));
  twice("KLVN", "24.20");
  EXPECT_EQ(times_sent("on your price"), 1U);
  EXPECT_EQ(sell("KLVN"), "KLVN is no longer held; KLVN 20.00 is in no list and is no longer watched");
  EXPECT_TRUE(reload(without));
  EXPECT_THAT(watched(), testing::ElementsAre("ORRI 50.00"));
}

TEST_F(Answers, ASaleOfAPartLeavesTheLimitsWhereTheyAre) {
  trade("KLVN", "20.10");
  buy("KLVN", "20.00", "100");
  buy("KLVN", "21.00", "300");
  EXPECT_EQ(sell("KLVN", "150"),
            "150 shares of KLVN are sold; KLVN is held from 20.75, 250 shares; loss limit 19.09, gains told at 24.90 and "
            "25.9375");
  EXPECT_EQ(row("KLVN").shares, Shares::whole(250));
  EXPECT_EQ(row("KLVN").bought, *parse_price("20.75"));
  twice("KLVN", "24.95");
  EXPECT_EQ(times_sent("on your price"), 1U);
  sell("KLVN", "0.5");
  EXPECT_EQ(row("KLVN").shares, Shares{249'500'000});
  twice("KLVN", "24.96");
  EXPECT_EQ(times_sent("on your price"), 1U) << "what was told of the rest is not told again";
  restart();
  EXPECT_EQ(row("KLVN").shares, Shares{249'500'000});
  EXPECT_EQ(sell("KLVN", "249.5"), "KLVN is no longer held; KLVN 20.00 is a watch again") << "all of them is all";
  EXPECT_FALSE(row("KLVN").bought.is_set());
}

TEST_F(Answers, BoughtAgainAfterItWasSoldBeginsAnew) {
  trade("KLVN", "20.10");
  buy("KLVN", "20.00", "100");
  twice("KLVN", "24.10");
  EXPECT_EQ(times_sent("on your price"), 1U);
  sell("KLVN");
  EXPECT_THAT(buy("KLVN", "20.00", "10"), StartsWith("KLVN is held from 20.00, 10 shares"));
  twice("KLVN", "24.11");
  EXPECT_EQ(times_sent("on your price"), 2U) << "it is another holding";
}

TEST_F(Answers, MoreThanIsHeldCannotBeSold) {
  trade("KLVN", "20.10");
  buy("KLVN", "20.00", "100");
  EXPECT_EQ(sell("KLVN", "100.5"),
            "refused: shares: found 100.5, expected at most the 100 that you hold; nothing was changed");
  EXPECT_THAT(sell("KLVN", "none"), StartsWith("refused: shares: found \"none\", expected a number"));
  buy("KLVN", "20.20");
  EXPECT_EQ(sell("KLVN", "10"),
            "refused: shares: found 10, but you did not say how many you bought; without a number all of it is sold; "
            "nothing was changed");
  EXPECT_EQ(row("KLVN").bought, *parse_price("20.20"));
}

TEST_F(Answers, AWatchThatStandsInNoListGoesWhenItsStockIsSold) {
  trade("KLVN", "20.10");
  buy("KLVN", "20.10");
  Settings without = sample();
  without.watches = {test::watch_on("ORRI", "50.00")};
  EXPECT_TRUE(reload(without));
  EXPECT_EQ(sell("KLVN"), "KLVN is no longer held; KLVN 20.00 is in no list and is no longer watched");
  EXPECT_THAT(watched(), testing::ElementsAre("ORRI 50.00")) << "at once, and not at the next start";
}

/// 2:1 on the day after.
struct AnswersOverASplit : Answers {
  void change(Settings& settings) override {
    std::ofstream(splits) << "date,symbol,ratio\n2026-10-15,KLVN,2:1\n";
    settings.history.splits = splits;
  }
  ~AnswersOverASplit() override { std::filesystem::remove(splits); }
  std::string splits = testing::TempDir() + "answers-splits.csv";
};

TEST_F(AnswersOverASplit, TheHoldingMovesWithIt) {
  trade("KLVN", "20.10");
  buy("KLVN", "20.00", "100");
  time.run_until(time.truth() + kDayNanos - kHour);  // 09:30:21, of the day after
  twice("KLVN", "10.02");
  EXPECT_EQ(row("KLVN").bought, *parse_price("10"));
  EXPECT_EQ(row("KLVN").shares, Shares::whole(200));
  EXPECT_EQ(row("KLVN").loss_limit, *parse_price("9.20"));
  EXPECT_THAT(buy("KLVN", "10.60", "200"), StartsWith("KLVN is held from 10.30, 400 shares"));
  EXPECT_THAT(sell("KLVN", "300"), StartsWith("300 shares of KLVN are sold; KLVN is held from 10.30, 100 shares"));
  twice("KLVN", "9.40");
  EXPECT_EQ(times_sent("loss limit"), 1U) << "9.476, and not half of it";
}

TEST_F(Answers, AcknowledgeTakesASymbolToo) {
  trade("KLVN", "20.10");
  pass(kSecond);
  EXPECT_EQ(say({.kind = AnswerKind::acknowledge, .symbol = "KLVN"}), "acknowledged 2026-10-14/KLVN/20.00/crossed/1");
}

TEST_F(Answers, ThatAreWrongGetOneLineAndChangeNothing) {
  trade("KLVN", "20.10");
  pass(kSecond);
  keeper.kept = {};
  struct Wrong {
    AnswerRequest request;
    const char* why;
  };
  const Wrong all[] = {
      {{.kind = AnswerKind::add, .symbol = "NIVO", .pivot = "8,35"}, "pivot: found \"8,35\", expected"},
      {{.kind = AnswerKind::add, .symbol = "NIVO", .pivot = "-8"}, "pivot: found"},
      {{.kind = AnswerKind::add, .symbol = "NIVO", .pivot = ""}, "pivot: found"},
      {{.kind = AnswerKind::add, .symbol = "NI VO", .pivot = "8"}, "symbol: found"},
      {{.kind = AnswerKind::add, .symbol = "KLVN", .pivot = "20.00"}, "KLVN 20.00 is watched already"},
      {{.kind = AnswerKind::add, .symbol = "KLVN", .pivot = "200"}, "between half and twice that"},
      {{.kind = AnswerKind::add, .symbol = "NIVO", .pivot = "8", .until = "2026-10-13"}, "a day not before today"},
      {{.kind = AnswerKind::add, .symbol = "NIVO", .pivot = "8", .until = "soon"}, "until: found \"soon\", expected"},
      {{.kind = AnswerKind::mute, .symbol = "NIVO", .span = "hour"},
       "symbol: found \"NIVO\", expected one that is watched"},
      {{.kind = AnswerKind::mute, .symbol = "KLVN", .span = "ever"},
       "for: found \"ever\", expected hour, today or under"},
      {{.kind = AnswerKind::mute, .symbol = "ORRI", .span = "under"}, "ORRI 50.00 is under its pivot now, at 49.50"},
      {{.kind = AnswerKind::mute, .symbol = "KLVN", .pivot = "21", .span = "hour"},
       "pivot: found \"21\", expected 20.00"},
      {{.kind = AnswerKind::bought, .symbol = "KLVN", .price = "much"}, "price: found \"much\", expected a price"},
      {{.kind = AnswerKind::bought, .symbol = "KLVN", .price = "40"},
       "from the last price 20.10, expected one within 25 %"},
      {{.kind = AnswerKind::bought, .symbol = "KLVN", .price = "20", .shares = "-3"}, "shares: found \"-3\""},
      {{.kind = AnswerKind::bought, .symbol = "NIVO", .price = "8"}, "symbol: found \"NIVO\""},
      {{.kind = AnswerKind::sold, .symbol = "KLVN"}, "expected one that you said you bought"},
      {{.kind = AnswerKind::acknowledge, .symbol = "ORRI"}, "expected one that something was told of"},
  };
  for (const Wrong& wrong : all) {
    const std::string words = say(wrong.request);
    EXPECT_THAT(words, HasSubstr(wrong.why));
    EXPECT_THAT(words, testing::EndsWith("nothing was changed"));
    EXPECT_EQ(words.find('\n'), std::string::npos);
  }
  EXPECT_THAT(keeper.kept.answers, IsEmpty());
  EXPECT_THAT(watched(), testing::ElementsAre("KLVN 20.00", "ORRI 50.00"));
}

TEST_F(Answers, OneIdCountsOnce) {
  const AnswerRequest once{.kind = AnswerKind::mute, .id = "link-1", .symbol = "KLVN", .span = "hour"};
  EXPECT_THAT(say(once), StartsWith("KLVN 20.00 is muted"));
  EXPECT_EQ(say(once), "refused: this has been answered already; nothing was changed");
  restart();
  EXPECT_EQ(say(once), "refused: this has been answered already; nothing was changed");
}

TEST_F(Answers, ASymbolThatTheSourceRefusesIsTold) {
  add("NIVO", "8.00");
  listener->on_refusal("no such thing: NIVOX");
  pass(kSecond);
  EXPECT_EQ(times_sent("feed"), 0U);
  listener->on_refusal("unknown symbol NIVO");
  listener->on_refusal("unknown symbol NIVO");
  pass(kSecond);
  EXPECT_EQ(times_sent("feed main does not take NIVO"), 1U);
}

TEST_F(Answers, AnotherJournalGetsWhatStillCounts) {
  add("NIVO", "8.00"), drop("ORRI"), add("ZUNO", "5.00"), drop("ZUNO");
  trade("KLVN", "20.10");
  buy("KLVN", "20.10");
  keeper.kept = {};
  house->on_other_journal();
  pass(kSecond);
  restart();
  EXPECT_THAT(watched(), testing::ElementsAre("KLVN 20.00", "NIVO 8.00"));
  EXPECT_EQ(row("KLVN").bought, *parse_price("20.10"));
}

/// Lists are laid out on another thread, here in the test's hand.
struct SlowAnswers : Answers {
  void change(HouseWorld& world) override {
    world.prepare = [this](Settings settings, std::function<void(ReadyDesk)> then) {
      prepared.emplace_back([settings = std::move(settings), then = std::move(then)]() mutable {
        then({{}, Desk::prepare(std::move(settings)), 0});
      });
    };
  }
  void go_on() {
    for (const auto& one : std::exchange(prepared, {})) one();
    pass(kSecond);
  }
  std::vector<std::function<void()>> prepared;
};

TEST_F(SlowAnswers, GoOneAfterTheOther) {
  ask({.kind = AnswerKind::add, .symbol = "NIVO", .pivot = "8.00"});
  ask({.kind = AnswerKind::bought, .symbol = "NIVO", .price = "8.00"});
  EXPECT_EQ(said, "") << "the second waits for the first";
  go_on();
  EXPECT_THAT(said, StartsWith("NIVO is held from 8.00"));
  ASSERT_EQ(keeper.kept.answers.size(), 2U);
  EXPECT_EQ(keeper.kept.answers[0].kind, AnswerKind::add);
}

TEST_F(SlowAnswers, AReloadBetweenIsNotTurnedBack) {
  ask({.kind = AnswerKind::add, .symbol = "NIVO", .pivot = "8.00"});
  Settings changed = sample();
  changed.watches = {test::watch_on("ZUNO", "5.00")};
  EXPECT_TRUE(reload(changed));
  go_on();
  go_on();
  EXPECT_EQ(said, "NIVO 8.00 is watched");
  EXPECT_THAT(watched(), testing::ElementsAre("ZUNO 5.00", "NIVO 8.00"));
}

}  // namespace
}  // namespace brimwatch::simulation
