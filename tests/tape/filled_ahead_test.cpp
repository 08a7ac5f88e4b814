// Rings that one helper fills: all in order, whoever did the work.
#include "tape/filled_ahead.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <atomic>
#include <latch>
#include <set>

namespace brimwatch {
namespace {

using Numbers = FilledAhead<int, 4>;

/// 1, 2, ... `last`, and that again and again.
std::function<bool(int&)> count_to(int last) {
  return [n = 0, last](int& slot) mutable { return (slot = ++n) < last; };
}

TEST(FilledAhead, GivesAllInOrderAndThenTheLastAgain) {
  Numbers numbers(std::make_shared<Helper>(), count_to(1000));
  for (int i = 1; i <= 1000; ++i) ASSERT_EQ(numbers.next(), i);
  EXPECT_EQ(numbers.next(), 1000);
  EXPECT_EQ(numbers.next(), 1000);
}

TEST(FilledAhead, RingsInARowShareOneHelper) {
  const auto helper = std::make_shared<Helper>();
  Numbers ones(helper, count_to(30'000));
  Numbers sums(helper, [&](int& slot) {
    slot = ones.next() + ones.next() + ones.next();
    return slot < 29'998 + 29'999 + 30'000;
  });
  for (int i = 1; i <= 10'000; ++i) ASSERT_EQ(sums.next(), 9 * i - 3);
}

// Otherwise a helper that is slow at one ring would hold up whoever waits at another.
TEST(FilledAhead, WhoTakesFillsItHimselfWhileTheHelperIsAtAnotherRing) {
  std::latch release(1);
  const auto helper = std::make_shared<Helper>();
  FilledAhead<int, 2> slow(helper, [&](int& slot) {
    release.wait();
    slot = 7;
    return false;
  });
  std::set<std::thread::id> at_it;
  Numbers numbers(helper, [&, counted = count_to(20)](int& slot) mutable {
    at_it.insert(std::this_thread::get_id());
    return counted(slot);
  });
  for (int i = 1; i <= 20; ++i) ASSERT_EQ(numbers.next(), i);
  EXPECT_THAT(at_it, testing::ElementsAre(std::this_thread::get_id()));
  release.count_down();
  EXPECT_EQ(slow.next(), 7);
}

TEST(FilledAhead, IsFilledAheadByTheHelperButNeverIntoTheSlotInHand) {
  std::latch full(4);
  std::atomic<int> made = 0;
  Numbers numbers(std::make_shared<Helper>(), [&](int& slot) {
    slot = ++made;
    if (slot <= 4) full.count_down();
    return true;
  });
  full.wait();  // nobody has taken yet
  for (int i = 1; i <= 1000; ++i) {
    const int& slot = numbers.next();
    ASSERT_LE(made, i + 3) << "four slots, the first of them in hand";
    ASSERT_EQ(slot, i);
  }
}

TEST(FilledAhead, MayBeLeftWhileTheHelperIsAtIt) {
  const auto helper = std::make_shared<Helper>();
  for (int i = 0; i < 1000; ++i) {
    Numbers left(helper, count_to(1'000'000));
    if (i % 2 == 0) {
      ASSERT_EQ(left.next(), 1);
    }
  }
  Numbers last(helper, count_to(3));
  for (const int want : {1, 2, 3}) EXPECT_EQ(last.next(), want);
}

}  // namespace
}  // namespace brimwatch
