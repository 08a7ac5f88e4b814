#include "live/projection_errors.h"

#include <gtest/gtest.h>

namespace brimwatch {
namespace {

constexpr Date kDay{20'740};

DayRecord ended(const char* symbol, std::int64_t volume, double coverage = 1) {
  DayRecord record;
  record.day = kDay;
  record.symbol = symbol;
  record.volume = Shares::whole(volume);
  record.coverage = coverage;
  return record;
}

struct Errors : testing::Test {
  void SetUp() override {
    ASSERT_TRUE(book.begins_minute(kDay, 0, 2));
    book.add("KLVN", {29, 20, 100, 900, 0, 0});
    book.add("KLVN", {31, 20, 100, 5'000, 0, 0});  // said after the thirtieth minute
    book.add("KLVN", {60, 20, 100, 1'100, 0, 0});
    book.add("ORRI", {60, 20, 100, 3'000, 0, 0});
    book.add("NIVO", {60, 20, 100, 0, 0, 0});  // not judged
  }
  DayBook book;
  ProjectionErrors errors;
};

TEST_F(Errors, are_means_over_the_stocks_of_a_day) {
  errors.take(ended("KLVN", 1'000), book);
  errors.take(ended("ORRI", 2'000), book);
  errors.take(ended("NIVO", 2'000), book);
  const auto rows = errors.rows();
  ASSERT_EQ(rows.size(), 2U);  // nothing was said near 120 and 240 minutes
  EXPECT_EQ(rows[0].minutes, 30);
  EXPECT_EQ(rows[0].stocks, 1);
  EXPECT_NEAR(rows[0].mean, 0.1, 1e-6);
  EXPECT_NEAR(rows[0].bias, -0.1, 1e-6);
  EXPECT_EQ(rows[1].stocks, 2);
  EXPECT_NEAR(rows[1].mean, (0.1 + 0.5) / 2, 1e-6);
  EXPECT_NEAR(rows[1].bias, (0.1 + 0.5) / 2, 1e-6);
}

TEST_F(Errors, a_day_heard_in_part_or_another_day_does_not_count) {
  errors.take(ended("KLVN", 1'000, 0.8), book);
  DayRecord other = ended("KLVN", 1'000);
  other.day = kDay + 1;
  errors.take(other, book);
  errors.take(ended("KLVN", 0), book);
  EXPECT_TRUE(errors.rows().empty());
}

}  // namespace
}  // namespace brimwatch
