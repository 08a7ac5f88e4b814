// Of two states of a watch, the one that has heard more.
#include "shared/newer_watch.h"

#include <gtest/gtest.h>

namespace brimwatch {
namespace {

WatchState changed_at(Timestamp time) {
  WatchState state;
  state.day = Date::of(2026, 11, 25);
  WatchPast last;
  last.by.time = time;
  state.past = pack({last, {}});
  return state;
}

TEST(NewerWatch, is_the_one_whose_last_trade_is_later) {
  const WatchState early = changed_at(Timestamp{kSecond}), late = changed_at(Timestamp{2 * kSecond});
  EXPECT_TRUE(is_newer(late, early));
  EXPECT_FALSE(is_newer(early, late));
  EXPECT_FALSE(is_newer(early, early));
  EXPECT_TRUE(is_newer(early, WatchState{}));
}

TEST(NewerWatch, a_later_day_and_a_trade_taken_back_are_newer) {
  WatchState one = changed_at(Timestamp{kSecond}), other = changed_at(Timestamp{2 * kSecond});
  one.withdrawn = 1;
  EXPECT_TRUE(is_newer(one, other));
  other.day = one.day + 1;
  EXPECT_TRUE(is_newer(other, one));
}

}  // namespace
}  // namespace brimwatch
