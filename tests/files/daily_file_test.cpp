#include "files/daily_file.h"

#include <gmock/gmock.h>
#include <unistd.h>

#include <fstream>

namespace brimwatch {
namespace {

TEST(DailyFile, IsNamedAfterItsSymbolAndEndsWithTheLastSessionThatIsOver) {
  const std::string path = testing::TempDir() + "KLVN.A_" + std::to_string(::getpid()) + ".csv";
  std::ofstream(path) << "date,volume\n2026-11-24,100\n2026-11-25,200\n2026-11-26,300\n";
  const auto all = read_daily(path, DailyRows::every);
  ASSERT_TRUE(all) << all.error().text;
  EXPECT_EQ(all->symbol, "KLVN.A_" + std::to_string(::getpid()));
  EXPECT_EQ(all->bars.size(), 3U);
  const auto over = read_daily(path, DailyRows::readable, parse_date("2026-11-25"));
  ASSERT_TRUE(over) << over.error().text;
  EXPECT_EQ(over->bars.size(), 2U);
  EXPECT_EQ(over->skipped, 1);
  EXPECT_EQ(over->first_problem, path +
                                     ":4:1: date: found 2026-11-26, expected a session that is over, the last of them "
                                     "2026-11-25; the row was left out");
  const auto less = read_daily(path, DailyRows::readable, parse_date("2026-11-24"));
  EXPECT_THAT(less->first_problem, testing::HasSubstr("2026-11-25, expected a session that is over, "));
  EXPECT_THAT(less->first_problem, testing::EndsWith("; it and later rows were left out"));
  ::unlink(path.c_str());
}

TEST(DailyFile, OneThatIsNotThereIsAnError) {
  EXPECT_EQ(read_daily("/nonexistent/x.csv", DailyRows::every).error().text, "/nonexistent/x.csv: found no such file");
}

}  // namespace
}  // namespace brimwatch
