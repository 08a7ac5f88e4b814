#include "core/backoff.h"

#include <gtest/gtest.h>

#include <limits>

namespace brimwatch {
namespace {

TEST(BackoffCeiling, DoublesToItsMost) {
  EXPECT_EQ(backoff_ceiling(kSecond, 0, kMinute), kSecond);
  EXPECT_EQ(backoff_ceiling(kSecond, 3, kMinute), 8 * kSecond);
  EXPECT_EQ(backoff_ceiling(kSecond, 6, kMinute), kMinute);
  EXPECT_EQ(backoff_ceiling(kSecond, std::numeric_limits<int>::max(), kMinute), kMinute);
  EXPECT_EQ(backoff_ceiling(kMinute, 0, kSecond), kSecond);
}

}  // namespace
}  // namespace brimwatch
