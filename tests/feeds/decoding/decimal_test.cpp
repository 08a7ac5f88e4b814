#include "adapters/feeds/decoding/decimal.h"

#include <gtest/gtest.h>

#include <string>

namespace brimwatch {
namespace {

TEST(Decimal, IsExactToTheMillionth) {
  EXPECT_EQ(scaled_decimal("48.35", 6), 48'350'000);
  EXPECT_EQ(scaled_decimal("0.000001", 6), 1);
  EXPECT_EQ(scaled_decimal("-12.5", 6), -12'500'000);
  EXPECT_EQ(scaled_decimal("9007199254740.993", 6), 9007199254740'993000);  // 2^53 + : a double cannot hold it
}

TEST(Decimal, CutsWhatIsBelowAndNeverRoundsUp) {
  EXPECT_EQ(scaled_decimal("48.3499999999999999999", 6), 48'349'999);
  EXPECT_EQ(scaled_decimal("0.00000099999", 6), 0);
  EXPECT_EQ(scaled_decimal("1234567.123456789012345678901", 6), 1234567'123456);
}

TEST(Decimal, TakesExponents) {
  EXPECT_EQ(scaled_decimal("4.835e1", 6), 48'350'000);
  EXPECT_EQ(scaled_decimal("4835E-2", 6), 48'350'000);
  EXPECT_EQ(scaled_decimal("1e+3", 6), 1'000'000'000);
  EXPECT_EQ(scaled_decimal("0.0000000000000000000001e22", 6), 1'000'000);
  EXPECT_EQ(scaled_decimal("123456789012345678901234e-18", 6), 123456'789012);
  EXPECT_EQ(scaled_decimal("0e999999999999", 6), 0);
  EXPECT_EQ(scaled_decimal("5e-400", 6), 0);
}

TEST(Decimal, RefusesWhatIsNoNumberOrTooBig) {
  for (const char* bad : {"", "-", ".", "e5", "1e", "1e+", "1.2.3", "NaN", "Infinity", "0x10", " 1", "1 ", "1,5", "+1",
                          "--1", "1e400", "99999999999999999999"}) {
    EXPECT_FALSE(scaled_decimal(bad, 6)) << bad;
  }
}

// RFC 3339, section 5.8.
TEST(Time, ReadsTheExamplesOfRfc3339) {
  const auto at = [](const char* text) { return parse_rfc3339(text).value_or(Timestamp{}); };
  EXPECT_EQ(at("1996-12-19T16:39:57-08:00"), at("1996-12-20T00:39:57Z"));
  EXPECT_EQ(at("1990-12-31T23:59:60Z"), at("1991-01-01T00:00:00Z"));
  EXPECT_EQ(at("1990-12-31T15:59:60-08:00"), at("1991-01-01T00:00:00Z"));
  EXPECT_EQ(parse_time("1996-12-19T16:39:57-08:00", TimeFormat::rfc3339), at("1996-12-20T00:39:57Z"));
  // 1985 and 1937 are good times of the standard, but no feed lives there.
  EXPECT_FALSE(parse_time("1985-04-12T23:20:50.52Z", TimeFormat::rfc3339));
  EXPECT_TRUE(at("1937-01-01T12:00:27.87+00:20") < at("1985-04-12T23:20:50.52Z"));
}

// The same instant in each unit, by `date -u -d @1700000000.123456789 +%FT%T.%NZ` (GNU coreutils).
TEST(Time, ReadsEpochNumbersOfEachUnitExactly) {
  const auto wanted = parse_rfc3339("2023-11-14T22:13:20.123456789Z");
  EXPECT_EQ(parse_time("1700000000.123456789", TimeFormat::seconds), wanted);
  EXPECT_EQ(parse_time("1700000000123.456789", TimeFormat::millis), wanted);
  EXPECT_EQ(parse_time("1700000000123456.789", TimeFormat::micros), wanted);
  EXPECT_EQ(parse_time("1700000000123456789", TimeFormat::nanos), wanted);
  EXPECT_EQ(parse_time("1.700000000123456789e9", TimeFormat::seconds), wanted);
}

TEST(Time, AWrongUnitIsRefusedAndNotTakenForAnotherCentury) {
  EXPECT_FALSE(parse_time("1700000000123", TimeFormat::seconds));
  EXPECT_FALSE(parse_time("1700000000", TimeFormat::millis));
  EXPECT_FALSE(parse_time("1700000000123", TimeFormat::nanos));
  EXPECT_FALSE(parse_time("0", TimeFormat::seconds));
  EXPECT_FALSE(parse_time("2023-11-14 22:13:20", TimeFormat::rfc3339));  // no zone: nobody knows when
}

}  // namespace
}  // namespace brimwatch
