#include "core/watch_list.h"

#include <gmock/gmock.h>

#include <random>

namespace brimwatch {
namespace {

/// Every field now and then said and now and then not, from few values, so that much is shared.
std::vector<Watch> some_watches(std::uint32_t seed, std::size_t count) {
  std::mt19937 random(seed);
  const auto below = [&](std::uint32_t n) { return static_cast<int>(random() % n); };
  std::vector<Watch> out;
  for (std::size_t i = 0; i < count; ++i) {
    Watch watch;
    watch.symbol = "S" + std::string(static_cast<std::size_t>(below(20)), 'X') + std::to_string(below(9));
    if (below(3) == 0) watch.note = "a note of some length, number " + std::to_string(below(5));
    if (below(2) == 0) watch.calendar = "XNYS";
    if (below(4) == 0) watch.tape = Tape::utdf;
    if (below(4) == 0) watch.listing = 'Q';
    watch.file = static_cast<std::uint16_t>(below(3));
    watch.line = static_cast<std::uint32_t>(random());
    watch.column = static_cast<std::uint16_t>(below(65536));
    watch.pivot = Price{1 + below(1'000'000'000)};
    if (below(2) == 0) watch.normal_volume = Shares{below(1000) * 1'000'000LL};
    if (below(3) == 0) watch.from = Date{below(30'000) - 100};
    if (below(3) == 0) watch.until = Date{below(30'000)};
    if (below(3) == 0) watch.rules.confirm_trades = static_cast<std::uint16_t>(1 + below(3));
    if (below(3) == 0) watch.rules.odds_heavy = 0.7 + 0.01 * below(5);
    if (below(9) == 0) watch.rules.tick_size = Price{1 + below(3)};
    set_levels(watch);
    out.push_back(std::move(watch));
  }
  return out;
}

TEST(WatchList, gives_back_what_went_in) {
  const std::vector<Watch> watches = some_watches(1, 2000);
  const WatchList list = watches;
  ASSERT_EQ(list.size(), watches.size());
  EXPECT_EQ(std::vector<Watch>(list.begin(), list.end()), watches);
  for (std::size_t i = 0; i < watches.size(); ++i) {
    EXPECT_EQ(list.symbol(i), watches[i].symbol);
    EXPECT_EQ(list.note(i), watches[i].note);
    EXPECT_EQ(list.pivot(i), watches[i].pivot);
    EXPECT_EQ(list.rules(i), watches[i].rules);
    EXPECT_EQ(list.calendar(i), watches[i].calendar);
    EXPECT_EQ(list.normal_volume(i), watches[i].normal_volume);
    EXPECT_EQ(list.days(i).from, watches[i].from);
    EXPECT_EQ(list.days(i).until, watches[i].until);
    EXPECT_EQ(list.symbols()[list.symbol_number(i)], watches[i].symbol);
  }
}

TEST(WatchList, a_copy_stands_by_itself_and_both_take_more) {
  const std::vector<Watch> watches = some_watches(2, 300), more = some_watches(3, 300);
  auto first = std::make_unique<WatchList>(watches);
  WatchList second = *first;
  EXPECT_TRUE(second == *first);
  first.reset();
  std::vector<Watch> both = watches;
  for (const Watch& watch : more) {
    second.push_back(watch);
    both.push_back(watch);
  }
  EXPECT_EQ(std::vector<Watch>(second.begin(), second.end()), both);
  EXPECT_FALSE(second == WatchList(watches));

  const WatchList moved = std::move(second);
  EXPECT_EQ(std::vector<Watch>(moved.begin(), moved.end()), both);
  second = WatchList(more);
  EXPECT_EQ(std::vector<Watch>(second.begin(), second.end()), more);
}

TEST(WatchList, what_watches_share_is_kept_once) {
  WatchList list;
  Watch watch;
  watch.symbol = "KLVN";
  for (int i = 1; i <= 1000; ++i) {
    watch.pivot = Price{i * 1'000'000};
    set_levels(watch);
    list.push_back(watch);
  }
  EXPECT_THAT(list.symbols(), testing::ElementsAre("KLVN"));
  EXPECT_EQ(list.terms_number(0), list.terms_number(999));
  watch.rules.surge += 1;
  list.push_back(watch);
  EXPECT_NE(list.terms_number(1000), list.terms_number(0));
  EXPECT_EQ(list.rules(999).surge + 1, list.rules(1000).surge);
}

}  // namespace
}  // namespace brimwatch
