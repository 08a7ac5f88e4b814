#include "core/text/retry_after.h"

#include <gtest/gtest.h>

namespace brimwatch {
namespace {

using std::chrono::seconds;

const Timestamp kNow = *parse_rfc3339("2026-11-25T15:00:00Z");

// RFC 9110, section 5.6.7: the same instant in its three forms.
TEST(HttpDate, ReadsTheThreeFormsOfTheStandard) {
  const auto wanted = parse_rfc3339("1994-11-06T08:49:37Z");
  EXPECT_EQ(parse_http_date("Sun, 06 Nov 1994 08:49:37 GMT", kNow), wanted);
  EXPECT_EQ(parse_http_date("Sunday, 06-Nov-94 08:49:37 GMT", kNow), wanted);
  EXPECT_EQ(parse_http_date("Sun Nov  6 08:49:37 1994", kNow), wanted);
}

TEST(HttpDate, AYearOfTwoDigitsLiesAtMostFiftyYearsAhead) {
  EXPECT_EQ(parse_http_date("Friday, 01-Jan-27 00:00:00 GMT", kNow), parse_rfc3339("2027-01-01T00:00:00Z"));
  EXPECT_EQ(parse_http_date("Saturday, 01-Jan-77 00:00:00 GMT", kNow), parse_rfc3339("1977-01-01T00:00:00Z"));
}

TEST(HttpDate, RefusesTheRest) {
  for (const char* bad :
       {"", "tomorrow", "Sun, 06 Nov 1994 08:49:37", "Sun, 06 Nov 1994 08:49:37 CET", "Sun, 31 Feb 2026 08:49:37 GMT",
        "Sun, 06 Foo 1994 08:49:37 GMT", "Sun, 06 Nov 1994 25:49:37 GMT", "1994-11-06T08:49:37Z"}) {
    EXPECT_FALSE(parse_http_date(bad, kNow)) << bad;
  }
}

// RFC 9110, section 10.2.3, and what must not be believed.
TEST(RetryAfter, TakesSecondsAndDates) {
  EXPECT_EQ(parse_retry_after("120", kNow), seconds(120));
  EXPECT_EQ(parse_retry_after("0", kNow), seconds(0));
  EXPECT_EQ(parse_retry_after(" 5\r\n", kNow), seconds(5));
  EXPECT_EQ(parse_retry_after("Wed, 25 Nov 2026 15:02:00 GMT", kNow), seconds(120));
  EXPECT_EQ(parse_retry_after("Wed, 25 Nov 2026 14:00:00 GMT", kNow), seconds(0));
  // Further back than a difference can say.
  EXPECT_EQ(parse_retry_after("Sat, 01 Nov 1727 08:09:07 GMT", kNow), seconds(0));
  EXPECT_EQ(parse_retry_after("99999999999", kNow), seconds(86'400));
  EXPECT_EQ(parse_retry_after("99999999999999999999999999", kNow), seconds(86'400));
  EXPECT_EQ(parse_retry_after("Fri, 01 Jan 2100 00:00:00 GMT", kNow), seconds(86'400));
  for (const char* bad : {"", "-1", "1.5", "soon", "12 s", " \r\n"}) EXPECT_FALSE(parse_retry_after(bad, kNow)) << bad;
}

}  // namespace
}  // namespace brimwatch
