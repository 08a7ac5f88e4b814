#include "core/text/grouped_number.h"

#include <gtest/gtest.h>

namespace brimwatch {
namespace {

TEST(GroupedNumber, groups_of_three_are_read) {
  EXPECT_EQ(ungrouped_count("1,234,567"), "1234567");
  EXPECT_EQ(ungrouped_count("1,234"), "1234");
  EXPECT_EQ(ungrouped_count("-12,345.5"), "-12345.5");
  EXPECT_EQ(ungrouped_count("999,000,000,000"), "999000000000");
  EXPECT_EQ(ungrouped_price("1,234.50"), "1234.50");
  EXPECT_EQ(ungrouped_price("1,234,567"), "1234567");
}

TEST(GroupedNumber, what_may_be_a_decimal_comma_is_not) {
  for (const char* text :
       {"1,5",    "12,34",  "1,2345",    "1234,567",  "0,123",   "01,234", "1.234,56", "1,234,56", "1,,234", ",123",
        "1,234,", "1,234.", "1,234.5,6", "1 234,567", "--1,234", "1,23a",  "1,2.34",   "x,234",    ",",      ""})
    EXPECT_FALSE(ungrouped_count(text)) << text;
  EXPECT_FALSE(ungrouped_price("1,234")) << "one and a bit, or a thousand and more";
  EXPECT_FALSE(ungrouped_price("49,125"));
  EXPECT_FALSE(ungrouped_count("1234")) << "there is nothing to take out";
  EXPECT_FALSE(ungrouped_count("1" + std::string(",234") + std::string(60, '0')));
}

TEST(GroupedNumber, only_a_number_with_a_comma_gets_the_hint) {
  EXPECT_NE(comma_hint("1,5"), "");
  EXPECT_EQ(comma_hint("1k"), "");
}

}  // namespace
}  // namespace brimwatch
