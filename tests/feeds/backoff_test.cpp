#include "adapters/feeds/backoff.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>
#include <vector>

namespace brimwatch {
namespace {

TEST(Backoff, DoublesToItsCap) {
  Backoff backoff;
  std::vector<double> ceilings;
  for (int i = 0; i < 10; ++i) ceilings.push_back(static_cast<double>(backoff.on_failure(0.999999999)) / 1e9);
  const std::vector<double> wanted{0.5, 1, 2, 4, 8, 16, 32, 60, 60, 60};
  for (std::size_t i = 0; i < wanted.size(); ++i) EXPECT_NEAR(ceilings[i], wanted[i], 1e-6) << i;
}

TEST(Backoff, JitterIsFull) {
  Backoff backoff;
  EXPECT_EQ(backoff.on_failure(0), 0);
  EXPECT_EQ(backoff.on_failure(0.5), kSecond / 2);
}

// A source that takes us in, gives data for three seconds and breaks: heard nearly all the time, not a fifth of it.
TEST(Backoff, AConnectionThatBreaksOftenIsHeardMostOfTheTime) {
  std::mt19937_64 source(42);
  std::uniform_real_distribution<double> random(0, 1);
  Backoff backoff;
  Nanos heard = 0, waited = 0;
  for (int i = 0; i < 200; ++i) {
    backoff.on_data(heard + waited);
    backoff.on_data(heard + waited + 3 * kSecond);
    heard += 3 * kSecond;
    waited += backoff.on_failure(random(source));
  }
  EXPECT_LT(waited, heard / 4);
}

TEST(Backoff, OneThatGivesASingleTickIsNotHammered) {
  Backoff backoff;
  for (int i = 0; i < 10; ++i) {
    backoff.on_data(kSecond * i);
    EXPECT_NEAR(static_cast<double>(backoff.on_failure(0.999)), 0.5e9, 1e6);
  }
}

TEST(Backoff, AMinuteOfGoodDataResets) {
  Backoff backoff;
  for (int i = 0; i < 8; ++i) (void)backoff.on_failure(0.9);
  backoff.on_data(kSecond);
  backoff.on_data(61 * kSecond);
  EXPECT_LT(backoff.on_failure(0.999), kSecond / 2);
}

TEST(Backoff, ARefusalWaitsAMinuteUnlessItSaysHowLong) {
  Backoff backoff;
  EXPECT_EQ(backoff.on_refusal(0), 60 * kSecond);
  EXPECT_EQ(backoff.on_refusal(0, 2 * kSecond), 2 * kSecond) << "obey what is short";
  EXPECT_EQ(backoff.on_refusal(0, 120 * kSecond), 120 * kSecond);
  EXPECT_EQ(backoff.on_refusal(0, 365 * kDayNanos), 300 * kSecond) << "a year's wait is not a feed";
  EXPECT_EQ(backoff.on_failure(0, 5 * kSecond), 5 * kSecond);
}

// A thousand clients cut off at one moment: from the sixth try on, when a source is likely to be up again, no second sees
// more than a fifth of them.
TEST(Backoff, ManyClientsDoNotComeBackInOneWave) {
  std::mt19937_64 source(42);
  std::uniform_real_distribution<double> random(0, 1);
  std::vector<int> per_second(600);
  for (int client = 0; client < 1000; ++client) {
    Backoff backoff;
    Nanos at = 0;
    for (int attempt = 0; attempt < 12; ++attempt) {
      at += backoff.on_failure(random(source));
      const auto second = static_cast<std::size_t>(at / kSecond);
      if (attempt >= 5 && second < per_second.size()) ++per_second[second];
    }
  }
  EXPECT_LT(*std::max_element(per_second.begin(), per_second.end()), 200);
}

}  // namespace
}  // namespace brimwatch
