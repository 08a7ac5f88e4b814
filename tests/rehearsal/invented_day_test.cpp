// The invented day: what `brimwatch rehearse` plays where nobody has recorded one.
#include "rehearsal/invented_day.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <map>

namespace brimwatch {
namespace {

const InventedSession kDay{*parse_rfc3339("2026-11-25T14:30:00Z"), *parse_rfc3339("2026-11-25T21:00:00Z")};

std::vector<InventedStock> stocks(std::size_t count) {
  std::vector<InventedStock> out;
  for (std::size_t i = 0; i < count; ++i)
    out.push_back({static_cast<SymbolId>(i), Price{20'050'000 + static_cast<std::int64_t>(i) * 10'000'000},
                   i == 1 ? Price{1'000} : Price{10'000}, 1'300'000});
  return out;
}

TEST(InventedDay, is_the_same_for_the_same_stocks_and_seed) {
  const auto one = invented_day(stocks(7), kDay, 1), again = invented_day(stocks(7), kDay, 1);
  ASSERT_EQ(one.size(), again.size());
  for (std::size_t i = 0; i < one.size(); ++i) {
    EXPECT_EQ(one[i].time, again[i].time);
    EXPECT_EQ(one[i].price, again[i].price);
    EXPECT_EQ(one[i].size, again[i].size);
  }
}

TEST(InventedDay, ascends_from_the_open_until_the_day_has_ended) {
  const auto day = invented_day(stocks(7), kDay, 1);
  EXPECT_TRUE(std::is_sorted(day.begin(), day.end(), [](const Tick& a, const Tick& b) { return a.time < b.time; }));
  EXPECT_GE(day.front().time, kDay.open);
  EXPECT_EQ(day.back().time, kDay.close + kInventedAfterClose);
  for (const Tick& tick : day) {
    const Price step = stocks(7)[tick.symbol].tick_size;
    EXPECT_EQ(tick.price.micros % step.micros, 0);
    EXPECT_GT(tick.size.micros, 0);
  }
}

TEST(InventedDay, brings_crossings_falls_and_an_opening_over) {
  struct Seen {
    double first = 0, most = 0, least = 1e9, last = 0;
  };
  std::map<SymbolId, Seen> seen;
  const auto all = stocks(7);
  for (const Tick& tick : invented_day(all, kDay, 1)) {
    const double part = tick.price.as_double() / all[tick.symbol].pivot.as_double();
    Seen& one = seen[tick.symbol];
    if (one.first == 0) one.first = part;
    one.most = std::max(one.most, part), one.least = std::min(one.least, part), one.last = part;
  }
  EXPECT_LT(seen[0].first, 1);
  EXPECT_GT(seen[0].last, 1.02) << "crosses and holds";
  EXPECT_GT(seen[2].most, 1.055);
  EXPECT_LT(seen[2].last, 1.05) << "leaves the range and is back inside";
  EXPECT_GT(seen[3].most, 1.005);
  EXPECT_LT(seen[3].last, 0.98) << "falls back under";
  EXPECT_LT(seen[4].most, 1) << "never comes";
  EXPECT_GT(seen[5].least, 1.05) << "opens over";
  EXPECT_LT(seen[6].least, 0.92) << "reaches the loss limit";
}

}  // namespace
}  // namespace brimwatch
