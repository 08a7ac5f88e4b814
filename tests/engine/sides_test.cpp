#include "engine/sides.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <random>

#include "engine/judge.h"

namespace brimwatch {
namespace {

using testing::ElementsAre;
using K = NoticeKind;

class Sides : public testing::Test {
 protected:
  Sides() { level("48.35"); }

  void level(const char* pivot) {
    watch_.pivot = *parse_price(pivot);
    set_levels(watch_);
  }

  std::vector<K> at(const char* price, bool first = false) {
    Step step;
    step.price = *parse_price(price);
    step.time = Timestamp{++clock_ * kSecond};
    step.first_of_day = first;
    const SideEvents h = advance(memory_, levels_of(watch_.pivot, watch_.rules), watch_.rules, step);
    std::vector<K> told;
    for (int i = 0; i < h.size; ++i) {
      if (h.list[static_cast<std::size_t>(i)].told) told.push_back(h.list[static_cast<std::size_t>(i)].kind);
    }
    return told;
  }

  Watch watch_;
  WatchMemory memory_;
  Nanos clock_ = 0;
};

// Common practice of the trade: buy within 5 % of the pivot, cut a loss at 8 %.
TEST_F(Sides, levels_follow_the_pivot) {
  const Levels levels = levels_of(watch_.pivot, watch_.rules);
  EXPECT_EQ(to_string(levels.range_top), "50.76") << "48.35 x 1.05 = 50.7675, down to the cent";
  EXPECT_EQ(to_string(levels.loss), "44.48") << "48.35 x 0.92 = 44.482";
  EXPECT_EQ(to_string(levels.rearm), "47.86");
  EXPECT_EQ(to_string(levels.back), "50.63") << "a quarter of one percent under the top";
}

// No percent under the pivot is still under it: a price at the pivot neither arms again nor falls back under.
TEST_F(Sides, levels_of_no_percent_are_under_the_pivot) {
  watch_.rules.rearm = watch_.rules.slip = watch_.rules.loss = 0;
  set_levels(watch_);
  at("48.00");
  EXPECT_THAT(at("48.35"), ElementsAre(K::crossed));
  EXPECT_THAT(at("48.35"), ElementsAre());
  EXPECT_THAT(at("48.40"), ElementsAre());
  EXPECT_THAT(at("48.35"), ElementsAre());
  EXPECT_THAT(at("48.34"), ElementsAre(K::loss_limit));
  EXPECT_THAT(at("48.35"), ElementsAre(K::crossed));
}

TEST(Weigh, both_bounds_belong_to_the_verdict) {
  Rules rules;
  rules.odds_heavy = 0.7, rules.odds_light = 0.3;
  EXPECT_EQ(weigh(0.7, rules), Weight::heavy);
  EXPECT_EQ(weigh(0.69, rules), Weight::unsettled);
  EXPECT_EQ(weigh(0.31, rules), Weight::unsettled);
  EXPECT_EQ(weigh(0.3, rules), Weight::light);
}

TEST_F(Sides, a_crossing_is_said_once) {
  EXPECT_THAT(at("48.34"), ElementsAre());
  EXPECT_THAT(at("48.35"), ElementsAre(K::crossed));
  EXPECT_THAT(at("48.36"), ElementsAre());
  EXPECT_EQ(memory_.side, Side::inside);
  EXPECT_FALSE(memory_.armed);
}

TEST_F(Sides, a_watch_that_never_saw_a_price_takes_the_first_one_at_the_pivot_as_the_breakout) {
  EXPECT_THAT(at("48.40"), ElementsAre(K::crossed));
}

TEST_F(Sides, the_first_price_of_a_day_over_the_top_opened_over) {
  at("48.00");
  EXPECT_THAT(at("50.77", true), ElementsAre(K::opened_over));
  EXPECT_EQ(memory_.side, Side::over);
  EXPECT_THAT(at("50.63"), ElementsAre(K::back_inside));
}

TEST_F(Sides, a_jump_over_the_whole_range_in_mid_day_is_one_crossing) {
  at("48.00");
  EXPECT_THAT(at("50.80"), ElementsAre(K::crossed));
  EXPECT_EQ(memory_.side, Side::over);
}

TEST_F(Sides, between_slip_and_pivot_the_side_stays) {
  at("48.40");
  EXPECT_THAT(at("47.90"), ElementsAre());
  EXPECT_EQ(memory_.side, Side::inside);
  EXPECT_THAT(at("47.86"), ElementsAre(K::fell_under));
  EXPECT_TRUE(memory_.armed);
  EXPECT_THAT(at("47.50"), ElementsAre()) << "once per crossing";
}

TEST_F(Sides, a_fall_through_everything_says_the_loss_limit_and_only_once) {
  at("48.40");
  EXPECT_THAT(at("44.00"), ElementsAre(K::loss_limit));
  EXPECT_THAT(at("43.00"), ElementsAre());
  EXPECT_THAT(at("48.35"), ElementsAre(K::crossed));
  EXPECT_THAT(at("44.00"), ElementsAre(K::loss_limit)) << "a new crossing has a limit of its own";
}

TEST_F(Sides, at_most_per_day_crossings_are_told_and_the_rest_only_counted) {
  for (int i = 0; i < 3; ++i) {
    EXPECT_THAT(at("48.35"), ElementsAre(K::crossed));
    EXPECT_THAT(at("47.00"), ElementsAre(K::fell_under));
  }
  EXPECT_THAT(at("48.35"), ElementsAre());
  EXPECT_EQ(memory_.counts[0], 4);
  EXPECT_THAT(at("47.00"), ElementsAre()) << "what follows an untold crossing is not told either";
  at("48.35");
  EXPECT_THAT(at("44.00"), ElementsAre(K::loss_limit)) << "but the loss limit is";
}

TEST_F(Sides, confirmation_by_count_needs_trades_in_a_row) {
  watch_.rules.confirm_trades = 3;
  at("48.00");
  EXPECT_THAT(at("48.40"), ElementsAre());
  EXPECT_THAT(at("48.40"), ElementsAre());
  EXPECT_THAT(at("48.34"), ElementsAre());
  EXPECT_THAT(at("48.40"), ElementsAre());
  EXPECT_THAT(at("48.40"), ElementsAre());
  EXPECT_THAT(at("48.40"), ElementsAre(K::crossed));
}

TEST_F(Sides, confirmation_by_time_needs_the_price_to_stay) {
  watch_.rules.confirm_seconds = 2;
  at("48.00");
  EXPECT_THAT(at("48.40"), ElementsAre());
  EXPECT_THAT(at("48.40"), ElementsAre());
  EXPECT_THAT(at("48.40"), ElementsAre(K::crossed));
}

TEST_F(Sides, a_rearm_level_above_the_slip_level_arms_without_a_word) {
  watch_.rules.rearm = 500'000;
  set_levels(watch_);
  at("48.40");
  EXPECT_THAT(at("48.10"), ElementsAre());
  EXPECT_EQ(memory_.side, Side::under);
  EXPECT_THAT(at("48.35"), ElementsAre(K::crossed));
  EXPECT_THAT(at("47.80"), ElementsAre(K::fell_under));
}

TEST_F(Sides, an_unarmed_rise_over_the_pivot_is_back_inside) {
  watch_.rules.rearm = 2'000'000;
  set_levels(watch_);
  at("48.40");
  EXPECT_THAT(at("47.80"), ElementsAre(K::fell_under));
  EXPECT_THAT(at("48.40"), ElementsAre(K::back_inside)) << "the last that was said is that it fell under";
  EXPECT_EQ(memory_.side, Side::inside);
  EXPECT_THAT(at("47.30"), ElementsAre(K::fell_under));
  EXPECT_THAT(at("48.40"), ElementsAre(K::crossed));
}

TEST(SeenPrint, an_id_is_its_exchange_s_own) {
  const SeenPrint one{*parse_price("48.40"), Timestamp{1}, 7, 'N'};
  EXPECT_FALSE(is_same_trade(one, {*parse_price("48.40"), Timestamp{1}, 7, 'P'}));
  EXPECT_TRUE(is_same_trade(one, {*parse_price("48.50"), Timestamp{9}, 7, 'N'}));
  EXPECT_TRUE(is_same_trade(one, {{}, {}, 7})) << "where it is not known the id is enough";
  EXPECT_TRUE(is_same_trade(one, {*parse_price("48.40"), Timestamp{1}})) << "without an id price and time tell";
  EXPECT_FALSE(is_same_trade(one, {*parse_price("48.41"), Timestamp{1}}));
}

TEST(SeenPrint, the_outermost_prices_move_up_when_one_is_taken_away) {
  Extremes highs;
  for (int i = 1; i <= 5; ++i) add_extreme(highs, {Price{i * 1000}, Timestamp{i}, static_cast<std::uint64_t>(i)}, 1);
  EXPECT_EQ(highs.price[0].micros, 5000);
  EXPECT_TRUE(drop_extreme(highs, {Price{5000}, Timestamp{5}, 5}));
  EXPECT_FALSE(drop_extreme(highs, {Price{5000}, Timestamp{5}, 5}));
  EXPECT_EQ(highs.price[0].micros, 4000);
  EXPECT_EQ(highs.price[1].micros, 3000);
  EXPECT_FALSE(highs.price[2].is_set());
}

TEST(Spans, are_united_and_not_summed) {
  Spans spans;
  spans.add(10, 20);
  spans.add(30, 40);
  spans.add(15, 20);
  EXPECT_EQ(spans.length(), 20);
  spans.add(20, 30);
  EXPECT_EQ(spans.size(), 1u);
  EXPECT_EQ(spans.length(), 30);
  spans.add(5, 5);
  EXPECT_EQ(spans.size(), 1u) << "nothing is no stretch";
}

TEST(Spans, of_more_than_there_is_room_for_the_nearest_become_one) {
  Spans spans;
  for (Nanos i = 0; i < static_cast<Nanos>(Spans::kMost); ++i) spans.add(i * 100, i * 100 + 10);
  spans.add(515, 518);
  EXPECT_EQ(spans.size(), Spans::kMost);
  EXPECT_EQ(spans.length(), static_cast<Nanos>(Spans::kMost) * 10 + 8) << "510 to 515 is taken for unheard too";
  EXPECT_EQ(spans.from[5], 500);
  EXPECT_EQ(spans.to[5], 518);
}

/// The promise that makes a tick cheap: a price strictly between the triggers changes nothing at all, and one that is at
/// a trigger does.
TEST_F(Sides, nothing_happens_between_the_triggers) {
  std::mt19937 random(20261125);
  for (int round = 0; round < 400; ++round) {
    watch_.rules = Rules{};
    watch_.rules.rearm = static_cast<std::int32_t>(random() % 3) * 700'000;
    watch_.rules.slip = static_cast<std::int32_t>(random() % 3) * 600'000;
    watch_.rules.range = static_cast<std::int32_t>(random() % 4) * 2'500'000;
    watch_.rules.loss = static_cast<std::int32_t>(random() % 3) * 4'000'000;
    watch_.rules.confirm_trades = static_cast<std::uint16_t>(1 + random() % 3);
    watch_.rules.confirm_seconds = static_cast<std::uint16_t>(random() % 2);
    watch_.pivot = Price{48'000'000};
    set_levels(watch_);
    memory_ = WatchMemory{};
    for (int step = 0; step < 200; ++step) {
      const Price price{44'000'000 + static_cast<std::int64_t>(random() % 900) * 10'000};
      const Triggers t = triggers_of(memory_, levels_of(watch_.pivot, watch_.rules));
      WatchMemory before = memory_;
      for (const std::int64_t at : {t.up, t.down}) {
        if (at == Triggers{}.up || at == Triggers{}.down) continue;
        WatchMemory moved = memory_;
        advance(moved, levels_of(watch_.pivot, watch_.rules), watch_.rules, {Price{at}, Timestamp{clock_ * kSecond}, {}});
        ASSERT_NE(moved, memory_) << "the trigger at " << at << " is for nothing";
      }
      const Step s{price, Timestamp{++clock_ * kSecond}, {}, random() % 50 == 0};
      const SideEvents h = advance(memory_, levels_of(watch_.pivot, watch_.rules), watch_.rules, s);
      if (price.micros < t.up && price.micros > t.down) {
        ASSERT_EQ(h.size, 0);
        ASSERT_EQ(before, memory_);
      }
    }
  }
}

}  // namespace
}  // namespace brimwatch
