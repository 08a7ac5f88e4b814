// Steps of prices against the published tables.
#include "core/tick_sizes.h"

#include <gtest/gtest.h>

#include <array>
#include <sstream>
#include <string>

#include "core/watch.h"
#include "support/price.h"

namespace brimwatch {
namespace {

using test::price;

// Commission Delegated Regulation (EU) 2017/588, Annex: from which price on, and the steps of the liquidity bands 1 to 6.
constexpr const char* kAnnex =
    "0     0.0005 0.0002 0.0001 0.0001 0.0001 0.0001\n"
    "0.1   0.001  0.0005 0.0002 0.0001 0.0001 0.0001\n"
    "0.2   0.002  0.001  0.0005 0.0002 0.0001 0.0001\n"
    "0.5   0.005  0.002  0.001  0.0005 0.0002 0.0001\n"
    "1     0.01   0.005  0.002  0.001  0.0005 0.0002\n"
    "2     0.02   0.01   0.005  0.002  0.001  0.0005\n"
    "5     0.05   0.02   0.01   0.005  0.002  0.001\n"
    "10    0.1    0.05   0.02   0.01   0.005  0.002\n"
    "20    0.2    0.1    0.05   0.02   0.01   0.005\n"
    "50    0.5    0.2    0.1    0.05   0.02   0.01\n"
    "100   1      0.5    0.2    0.1    0.05   0.02\n"
    "200   2      1      0.5    0.2    0.1    0.05\n"
    "500   5      2      1      0.5    0.2    0.1\n"
    "1000  10     5      2      1      0.5    0.2\n"
    "2000  20     10     5      2      1      0.5\n"
    "5000  50     20     10     5      2      1\n"
    "10000 100    50     20     10     5      2\n"
    "20000 200    100    50     20     10     5\n"
    "50000 500    200    100    50     20     10\n";

TEST(TickSizes, london_s_are_those_of_the_annex) {
  constexpr std::array kBands{TickTable::xlon_1, TickTable::xlon_2, TickTable::xlon_3,
                              TickTable::xlon_4, TickTable::xlon_5, TickTable::xlon_6};
  std::istringstream rows(kAnnex);
  std::array<std::string, 6> before;
  for (std::string from, step; rows >> from;) {
    for (std::size_t band = 0; band < kBands.size(); ++band) {
      rows >> step;
      EXPECT_EQ(tick_at(kBands[band], price(from)), price(step)) << from << ", band " << band + 1;
      if (from != "0") {
        EXPECT_EQ(tick_at(kBands[band], Price{price(from).micros - 1}), price(before[band])) << "under " << from;
      }
      before[band] = step;
    }
  }
  EXPECT_EQ(tick_table_of("XLON"), TickTable::xlon_6);
}

// Tokyo's page "Tick size": up to and with the price; the second column is that of the TOPIX 500.
constexpr const char* kTokyoPage =
    "1000 1 0.1\n3000 1 0.5\n5000 5 1\n10000 10 1\n30000 10 5\n50000 50 10\n100000 100 10\n300000 100 50\n500000 500 "
    "100\n"
    "1000000 1000 100\n3000000 1000 500\n5000000 5000 1000\n10000000 10000 1000\n30000000 10000 5000\n50000000 50000 "
    "10000\n";

TEST(TickSizes, tokyo_s_are_those_of_the_exchange_s_page) {
  std::istringstream rows(kTokyoPage);
  Price above;
  for (std::string most, usual, fine; rows >> most >> usual >> fine;) {
    for (const Price at : {Price{above.micros + 1}, price(most)}) {
      EXPECT_EQ(tick_at(TickTable::xtks, at), price(usual)) << to_string(at);
      EXPECT_EQ(tick_at(TickTable::xtks_500, at), price(fine)) << to_string(at);
    }
    above = price(most);
  }
  EXPECT_EQ(tick_at(TickTable::xtks, price("50000001")), price("100000"));
  EXPECT_EQ(tick_at(TickTable::xtks_500, price("50000001")), price("10000"));
}

// 17 CFR 242.612; UMIR 6.1.
TEST(TickSizes, of_new_york_and_toronto) {
  EXPECT_EQ(tick_at(TickTable::xnys, price("0.9999")), price("0.0001"));
  EXPECT_EQ(tick_at(TickTable::xnys, price("1")), price("0.01"));
  EXPECT_EQ(tick_at(TickTable::xtse, price("0.495")), price("0.005"));
  EXPECT_EQ(tick_at(TickTable::xtse, price("0.50")), price("0.01"));
  EXPECT_EQ(tick_table_of("XNYS"), TickTable::xnys);
  EXPECT_EQ(tick_table_of("XTSE"), TickTable::xtse);
  EXPECT_EQ(tick_at(tick_table_of("XXXX"), price("0.2")), price("0.01"));
}

/// Levels of a pivot on a market: top, back, rearm, slip, loss.
std::string levels(TickTable table, const char* pivot, const char* loss = "8") {
  Rules rules;
  rules.tick_table = table;
  rules.loss = static_cast<std::int32_t>(price(loss).micros);
  const Levels l = levels_of(price(pivot), rules);
  std::string text;
  for (const Price one : {l.range_top, l.back, l.rearm, l.slip, l.loss})
    text += (text.empty() ? "" : " ") + to_string(one);
  return text;
}

// By hand: 5 % over, a quarter of 1 % under that, 1 %, 1 % and 8 % under, each cut down to the step at that price.
TEST(TickSizes, levels_lie_on_ticks_of_their_own_price) {
  EXPECT_EQ(levels(TickTable::xnys, "48.35"), "50.76 50.63 47.86 47.86 44.48") << "50.7675 50.6331 47.8665 44.482";
  EXPECT_EQ(levels(TickTable::xnys, "0.19"), "0.1995 0.199 0.1881 0.1881 0.1748");
  EXPECT_EQ(levels(TickTable::xnys, "0.98"), "1.02 1.01 0.9702 0.9702 0.9016") << "1.029: over 1.00 the step is a cent";
  EXPECT_EQ(levels(TickTable::xtks, "2990"), "3135.00 3125.00 2960.00 2960.00 2750.00") << "3139.5 in steps of 5; 2750.8";
  EXPECT_EQ(levels(TickTable::xtks_500, "2990"), "3139.00 3131.00 2960.00 2960.00 2750.50");
  EXPECT_EQ(levels(TickTable::xlon_6, "412.6"), "433.20 432.10 408.45 408.45 379.55");
  EXPECT_EQ(levels(TickTable::xtse, "0.48"), "0.50 0.495 0.475 0.475 0.44") << "0.504; 0.5 - 0.00125";
}

TEST(TickSizes, a_level_under_the_pivot_is_a_tick_under_it) {
  Rules rules;
  rules.rearm = rules.slip = rules.loss = 0;
  EXPECT_EQ(to_string(levels_of(price("48.35"), rules).slip), "48.34");
  rules.tick_table = TickTable::xtks;
  EXPECT_EQ(to_string(levels_of(price("3005"), rules).loss), "3000.00");
}

TEST(TickSizes, one_step_at_every_price_takes_the_place_of_a_table) {
  Rules rules;
  rules.tick_size = price("0.005");
  EXPECT_EQ(to_string(levels_of(price("48.35"), rules).range_top), "50.765");
  EXPECT_EQ(to_string(on_tick_up(rules, price("48.351"))), "48.355");
  EXPECT_EQ(to_string(on_tick_up(rules, price("48.355"))), "48.355");
}

// What makes rounding safe: a price on a tick stands on the same side of a rounded level as of the exact one.
TEST(TickSizes, rounding_moves_no_event) {
  for (const TickTable table :
       {TickTable::xnys, TickTable::xtse, TickTable::xlon_1, TickTable::xlon_6, TickTable::xtks, TickTable::xtks_500}) {
    Rules rules;
    rules.tick_table = table;
    for (std::int64_t n = 1; n < 4000; ++n) {
      const Price pivot = on_tick_up(rules, Price{n * n * 1'701});
      const Levels l = levels_of(pivot, rules);
      const Price exact_top = add_percent_down(pivot, rules.range), exact_loss = add_percent_down(pivot, -rules.loss);
      ASSERT_LE(l.range_top, exact_top);
      ASSERT_GT(on_tick_up(rules, Price{l.range_top.micros + 1}), exact_top) << to_string(pivot);
      ASSERT_EQ(on_tick_up(rules, l.range_top), l.range_top) << "on a tick: " << to_string(pivot);
      ASSERT_EQ(on_tick_down(rules, l.loss), l.loss);
      ASSERT_EQ(on_tick_down(rules, exact_loss), l.loss);
    }
  }
}

}  // namespace
}  // namespace brimwatch
