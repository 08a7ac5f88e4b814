// What waits for a disk, put together.
#include "journal/backlog.h"

#include <gtest/gtest.h>

namespace brimwatch {
namespace {

JournalBatch states_of(Date day, int crossings) {
  JournalBatch batch;
  batch.day = day;
  WatchState watch;
  watch.symbol = "KLVN", watch.day = day, watch.counts[0] = static_cast<std::uint16_t>(crossings);
  batch.watches.push_back(watch);
  return batch;
}

JournalBatch row_of(int attempts) {
  JournalBatch batch;
  batch.deliveries.push_back({.notice_id = "n1", .channel = "mail", .attempts = attempts});
  return batch;
}

const Date kMonday = Date::of(2026, 11, 30);

TEST(Backlog, rows_of_deliveries_between_states_do_not_keep_them_apart) {
  Backlog backlog;
  for (int i = 1; i <= 1000; ++i) backlog.add(states_of(kMonday, i)), backlog.add(row_of(i));
  EXPECT_EQ(backlog.shrink(), 1998U);
  ASSERT_EQ(backlog.rows(), 2U);
  const JournalBatch all = backlog.take_front();
  EXPECT_TRUE(backlog.empty());
  EXPECT_EQ(all.day, kMonday);
  EXPECT_EQ(all.watches.at(0).counts[0], 1000);
  EXPECT_EQ(all.deliveries.at(0).attempts, 1000);
}

TEST(Backlog, states_of_two_days_stay_apart) {
  Backlog backlog;
  backlog.add(row_of(1));
  backlog.add(states_of(kMonday, 3));
  backlog.add(row_of(2));
  backlog.add(states_of(kMonday + 1, 1));
  backlog.add(row_of(3));
  backlog.shrink();
  const JournalBatch monday = backlog.take_front(), tuesday = backlog.take_front();
  EXPECT_TRUE(backlog.empty());
  EXPECT_EQ(monday.day, kMonday);
  EXPECT_EQ(monday.watches.at(0).counts[0], 3);
  EXPECT_EQ(tuesday.day, kMonday + 1);
  EXPECT_EQ(tuesday.watches.at(0).counts[0], 1);
  EXPECT_EQ(tuesday.deliveries.at(0).attempts, 3);
}

}  // namespace
}  // namespace brimwatch
