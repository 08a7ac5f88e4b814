#include "files/daily_file.h"

#include <gtest/gtest.h>
#include <unistd.h>

#include <fstream>

namespace brimwatch {
namespace {

TEST(DailyFile, IsNamedAfterItsSymbolAndEndsToday) {
  const std::string path = testing::TempDir() + "KLVN.A_" + std::to_string(::getpid()) + ".csv";
  std::ofstream(path) << "date,volume\n2026-11-24,100\n2026-11-25,200\n2026-11-26,300\n";
  const auto all = read_daily(path, DailyRows::every);
  ASSERT_TRUE(all) << all.error().text;
  EXPECT_EQ(all->symbol, "KLVN.A_" + std::to_string(::getpid()));
  EXPECT_EQ(all->bars.size(), 3U);
  const auto today = read_daily(path, DailyRows::readable, parse_date("2026-11-25"));
  ASSERT_TRUE(today) << today.error().text;
  EXPECT_EQ(today->bars.size(), 2U);
  EXPECT_EQ(today->skipped, 1);
  EXPECT_EQ(today->first_problem, path +
                                      ":4:1: date: found 2026-11-26, expected a day not after today, 2026-11-25; the row "
                                      "was left out");
  ::unlink(path.c_str());
}

TEST(DailyFile, OneThatIsNotThereIsAnError) {
  EXPECT_EQ(read_daily("/nonexistent/x.csv", DailyRows::every).error().text, "/nonexistent/x.csv: found no such file");
}

}  // namespace
}  // namespace brimwatch
