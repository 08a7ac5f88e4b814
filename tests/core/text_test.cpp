#include "core/text/text.h"

#include <gtest/gtest.h>

namespace brimwatch {
namespace {

// The Unicode Standard, table 3-8 (U+FFFD for maximal subparts) and the well-formedness table 3-7; from memory.
TEST(Utf8, IllFormedSequencesBecomeOneReplacementEach) {
  const std::string r = "\xEF\xBF\xBD";
  EXPECT_EQ(clean_utf8("\x61\xF1\x80\x80\xE1\x80\xC2\x62\x80\x63\x80\xBF\x64"),
            "a" + r + r + r + "b" + r + "c" + r + r + "d");
  EXPECT_EQ(clean_utf8("\xC0\xAF"), r + r);                  // overlong '/'
  EXPECT_EQ(clean_utf8("\xED\xA0\x80"), r + r + r);          // surrogate
  EXPECT_EQ(clean_utf8("\xF4\x90\x80\x80"), r + r + r + r);  // past U+10FFFF
  EXPECT_EQ(clean_utf8("\xE2\x82"), r);                      // cut off
}

TEST(Utf8, WellFormedTextStaysAsItIs) {
  const std::string text = "a \xC3\xA9 \xE2\x82\xAC \xF0\x9F\x9A\x80 \xF4\x8F\xBF\xBF";
  EXPECT_EQ(clean_utf8(text), text);
  EXPECT_EQ(length_of(text), 9U);
}

TEST(CleanLine, ControlsDirectionMarksAndLineSeparatorsBecomeOneBlank) {
  EXPECT_EQ(clean_line("  a\r\n\tb\x1b[0m\x7f "), "a b [0m");
  EXPECT_EQ(clean_line("a\xE2\x80\xAE"
                       "b\xE2\x80\xA8"
                       "c\xEF\xBB\xBF"
                       "d\xC2\x85"
                       "e"),
            "a b c d e");
  EXPECT_EQ(clean_line(std::string("a\0b", 3)), "a b");
  EXPECT_EQ(clean_line("a\xEF\xBF\xBF"
                       "b\xEF\xB7\x90"
                       "c\xF0\x9F\xBF\xBE"
                       "d"),
            "a b c d");  // noncharacters
  EXPECT_EQ(clean_line(""), "");
  EXPECT_EQ(clean_line(" \n "), "");
}

TEST(CleanLine, WhatIsTooLongIsCutAtACharacter) {
  EXPECT_EQ(clean_line("abcdefgh", 8), "abcdefgh");
  EXPECT_EQ(clean_line("abcdefghi", 8), "abcde...");
  EXPECT_EQ(clean_line("abcd fghi", 8), "abcd...");
  EXPECT_EQ(clean_line("\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9", 5), "\xC3\xA9\xC3\xA9...");
}

TEST(Wrap, BreaksAtBlanksAndIndentsTheRest) {
  EXPECT_EQ(wrap("one two three four", 9, 2), "one two\n  three\n  four");
  EXPECT_EQ(wrap("10:42:07  KLVN  crossed", 80, 10), "10:42:07  KLVN  crossed");
  EXPECT_EQ(wrap("a unbreakableword b", 5, 0), "a\nunbreakableword\nb");
  EXPECT_EQ(wrap("", 5, 0), "");
}

TEST(JsonString, EscapesWhatTheStandardAsksFor) {
  std::string out;
  append_json_string(out, std::string("a\"\\\n\x01\x7f\0z", 8) + "\xE2\x80\xA8\xff");
  EXPECT_EQ(out, R"("a\"\\\u000a\u0001\u007f\u0000z\u2028)"
                 "\xEF\xBF\xBD\"");
}

}  // namespace
}  // namespace brimwatch
