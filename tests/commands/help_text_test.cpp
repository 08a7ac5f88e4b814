#include "commands/help_text.h"

#include <gtest/gtest.h>

namespace brimwatch {
namespace {

TEST(HelpText, ASentenceGoesOnAtTheMargin) {
  EXPECT_EQ(fitted_help("Watch a feed and tell once.\nShort.\n", 14), "Watch a feed\nand tell once.\nShort.\n");
}

TEST(HelpText, AnExplanationHangsUnderItself) {
  EXPECT_EQ(fitted_help("  --json      Print one object a line\n", 26),
            "  --json      Print one\n              object a line\n");
  EXPECT_EQ(fitted_help("              object a line and more\n", 26),
            "              object a\n              line and more\n");
  EXPECT_EQ(fitted_help("Usage: brimwatch run [OPTIONS]\n", 22), "Usage: brimwatch run\n       [OPTIONS]\n");
}

TEST(HelpText, WhatFitsAndWhatCannotBeBrokenStays) {
  EXPECT_EQ(fitted_help("exactly twenty chars\n\n", 20), "exactly twenty chars\n\n");
  EXPECT_EQ(fitted_help("https://example.org/long rest\n", 10), "https://example.org/long\nrest\n");
  EXPECT_EQ(fitted_help("  --a-very-long-name\n", 10), "  --a-very-long-name\n");
  EXPECT_EQ(fitted_help("", 10), "");
}

}  // namespace
}  // namespace brimwatch
