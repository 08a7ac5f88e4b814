#include "core/text/timestamp.h"

#include <gtest/gtest.h>

namespace brimwatch {
namespace {

// The examples of RFC 3339, section 5.8.
TEST(Rfc3339, TheExamplesOfTheStandard) {
  EXPECT_EQ(parse_rfc3339("1985-04-12T23:20:50.52Z")->ns, 482196050'520'000'000);
  EXPECT_EQ(*parse_rfc3339("1996-12-19T16:39:57-08:00"), *parse_rfc3339("1996-12-20T00:39:57Z"));
  EXPECT_EQ(*parse_rfc3339("1990-12-31T23:59:60Z"), *parse_rfc3339("1991-01-01T00:00:00Z"));
  EXPECT_EQ(*parse_rfc3339("1990-12-31T15:59:60-08:00"), *parse_rfc3339("1990-12-31T23:59:60Z"));
  EXPECT_EQ(*parse_rfc3339("1937-01-01T12:00:27.87+00:20"), *parse_rfc3339("1937-01-01T11:40:27.87Z"));
}

TEST(Rfc3339, ManyDigitsAreCutNotRefused) {
  EXPECT_EQ(parse_rfc3339("2026-11-25T10:42:07.1234567899Z")->ns % kSecond, 123'456'789);
}

TEST(Rfc3339, RefusesWhatIsNotOne) {
  for (const char* text : {"", "2026-11-25", "2026-11-25T10:42:07", "2026-02-29T00:00:00Z", "2026-11-25T24:00:00Z",
                           "2026-11-25T10:60:00Z", "2026-11-25T10:42:61Z", "2026-11-25T10:42:07.Z",
                           "2026-11-25T10:42:07+5:00", "2026-11-25T10:42:07Zx", "2026-13-01T00:00:00Z"}) {
    EXPECT_FALSE(parse_rfc3339(text)) << text;
  }
}

TEST(Rfc3339, WritesWhatItReads) {
  const Timestamp time = *parse_rfc3339("2026-11-25T10:42:07.250000001-05:00");
  EXPECT_EQ(to_rfc3339(time, std::chrono::hours(-5)), "2026-11-25T10:42:07.250000001-05:00");
  EXPECT_EQ(to_rfc3339(time), "2026-11-25T15:42:07.250000001Z");
  EXPECT_EQ(to_rfc3339(Timestamp{-1}), "1969-12-31T23:59:59.999999999Z");
  EXPECT_EQ(to_clock(time, std::chrono::hours(-5)), "10:42:07");
}

TEST(Date, OnlyDaysThatExist) {
  EXPECT_TRUE(parse_date("2028-02-29"));
  EXPECT_FALSE(parse_date("2026-02-29"));
  EXPECT_FALSE(parse_date("2026-2-9"));
  EXPECT_EQ(to_string(*parse_date("2026-11-27")), "2026-11-27");
}

}  // namespace
}  // namespace brimwatch
