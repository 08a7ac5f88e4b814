// The quick finder against the definitions tried on every combination, and what must not change what it finds.
#include "weekend/finder.h"

#include <gmock/gmock.h>

#include "by_definition.h"
#include "planted.h"
#include "series.h"
#include "weekend/prepare.h"

namespace brimwatch {
namespace {

using testing_support::bases_by_definition;
using testing_support::random_walk;

std::vector<Base> found_in(const std::vector<DailyBar>& bars, const RuleBook& book = {}) {
  return find_bases(bars, book);
}

/// Prices so coarse that equal highs and lows are common: ties are where definitions are easily misread.
std::vector<DailyBar> coarse(std::vector<DailyBar> bars) {
  for (DailyBar& bar : bars) {
    for (Price* price : {&bar.open, &bar.high, &bar.low, &bar.close})
      price->micros = std::max<std::int64_t>(1, price->micros / 1'000'000) * 1'000'000;
  }
  return bars;
}

TEST(Finder, agrees_with_the_definitions_on_random_walks) {
  int bases = 0;
  for (std::uint64_t seed = 1; seed <= 300; ++seed) {
    const auto bars = random_walk(260, seed % 2 ? 0.015 : 0.025, seed, 0.001);
    const auto quick = found_in(bars);
    ASSERT_EQ(quick, bases_by_definition(bars, {})) << "seed " << seed;
    bases += static_cast<int>(quick.size());
  }
  EXPECT_GT(bases, 200) << "too few bases for the comparison to mean anything";
}

TEST(Finder, agrees_with_the_definitions_on_planted_bases_of_each_kind) {
  std::array<int, kBaseKinds> by_kind{};
  for (const BaseKind kind : kAllBaseKinds) {
    for (std::uint64_t seed = 1; seed <= 12; ++seed) {
      const auto bars = testing_support::plant(kind, 0.006, seed).bars;
      const auto quick = found_in(bars);
      ASSERT_EQ(quick, bases_by_definition(bars, {})) << to_string(kind) << ", seed " << seed;
      for (const Base& base : quick) ++by_kind[static_cast<std::size_t>(base.kind)];
    }
  }
  for (const BaseKind kind : kAllBaseKinds) EXPECT_GT(by_kind[static_cast<std::size_t>(kind)], 8) << to_string(kind);
}

TEST(Finder, agrees_with_the_definitions_where_highs_and_lows_are_often_equal) {
  RuleBook book;
  book.rim_clear = 3;
  book.shape_rise = 2;
  book.bottoms_apart = 3;
  int bases = 0;
  for (std::uint64_t seed = 1; seed <= 400; ++seed) {
    const auto bars = coarse(random_walk(150, 0.015, seed));
    const auto quick = found_in(bars, book);
    ASSERT_EQ(quick, bases_by_definition(bars, book)) << "seed " << seed;
    bases += static_cast<int>(quick.size());
  }
  EXPECT_GT(bases, 500);
}

TEST(Finder, agrees_with_the_definitions_on_every_short_series) {
  for (int size = 0; size < 40; ++size) {
    const auto bars = random_walk(size, 0.03, 7);
    ASSERT_EQ(found_in(bars), size > 0 ? bases_by_definition(bars, {}) : std::vector<Base>{}) << size << " bars";
  }
}

TEST(Finder, finds_the_same_whatever_the_scale_of_price_and_volume) {
  int bases = 0;
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    const auto bars = random_walk(400, 0.02, seed, 0.001);
    auto scaled = bars;
    for (DailyBar& bar : scaled) {
      for (Price* price : {&bar.open, &bar.high, &bar.low, &bar.close}) price->micros *= 7;
      bar.volume *= 1000;
    }
    const auto quick = found_in(bars);
    ASSERT_EQ(quick, found_in(scaled)) << "seed " << seed;
    bases += static_cast<int>(quick.size());
  }
  EXPECT_GT(bases, 100);
}

TEST(Finder, finds_the_same_later_when_the_same_bars_come_after_a_longer_past) {
  RuleBook book;
  int bases = 0;
  for (std::uint64_t seed = 1; seed <= 100; ++seed) {
    // The past must lie beyond the longest base and the rise before it, or it may truly change the answer.
    const auto longer = random_walk(900, 0.02, seed, 0.001);
    const int cut = 900 - book.length_most - book.rise_within - 1;
    const std::vector<DailyBar> shorter(longer.begin() + cut, longer.end());
    auto quick = found_in(longer);
    for (Base& base : quick) {
      for (int* point : {&base.start, &base.low, &base.peak, &base.second, &base.last}) *point -= cut;
    }
    ASSERT_EQ(quick, found_in(shorter)) << "seed " << seed;
    bases += static_cast<int>(quick.size());
  }
  EXPECT_GT(bases, 50);
}

/// Everything said of a base but its prices and its days.
std::vector<std::string> said_of(const std::vector<DailyBar>& bars) {
  RuleBook book;
  book.offset = 0;  // ten cents are another share of another price
  std::vector<std::string> out;
  for (const Candidate& one : judge_bases("KLVN", bars, {bars, {}}, book)) {
    const Facts& f = one.facts;
    char line[400];
    std::snprintf(line, sizeof line, "%d-%d-%d %.4f %.4f %.4f %.4f %.4f %.4f %.4f %s", one.base.start, one.base.peak,
                  one.base.second, f.prior_rise, f.depth, f.handle_depth, f.handle_volume, f.quiet, f.to_pivot,
                  f.rising_volume.value_or(-1), one.judgement.explained.c_str());
    out.emplace_back(line);
  }
  return out;
}

TEST(Judging, says_the_same_whatever_the_scale_of_price_and_volume_and_the_days) {
  int bases = 0;
  for (std::uint64_t seed = 1; seed <= 100; ++seed) {
    const auto bars = random_walk(400, 0.02, seed, 0.001);
    const auto plain = said_of(bars);
    auto dearer = bars, busier = bars, later = bars;
    for (DailyBar& bar : dearer) {
      for (Price* price : {&bar.open, &bar.high, &bar.low, &bar.close}) price->micros *= 4;
    }
    for (DailyBar& bar : busier) bar.volume *= 1024;
    for (DailyBar& bar : later) bar.day = bar.day + 7 * 53;
    ASSERT_EQ(said_of(dearer), plain) << "seed " << seed;
    ASSERT_EQ(said_of(busier), plain) << "seed " << seed;
    ASSERT_EQ(said_of(later), plain) << "seed " << seed;
    bases += static_cast<int>(plain.size());
  }
  EXPECT_GT(bases, 50);
}

}  // namespace
}  // namespace brimwatch
