// What a terminal gets: the sequences are those of ECMA-48 (CSI, OSC, and the eight-bit forms C1 of ISO 6429), the
// direction marks those of the Unicode Bidirectional Algorithm (UAX 9, section 2).
#include "terminal/terminal.h"

#include <gtest/gtest.h>

#include <cstdio>
#include <string>

#include "core/text/json.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr const char* kClipboard = "\x1b]52;c;cm0gLXJmIH4=\x07";  // OSC 52: writes the clipboard
constexpr const char* kTurned = "\xE2\x80\xAE";                   // U+202E: the rest is read from right to left
constexpr const char* kCsi = "\xC2\x9B";                          // U+009B: CSI in one character
constexpr const char* kTag = "\xF3\xA0\x80\xA0";                  // U+E0020: a tag, not seen

std::string all_of_them() { return std::string("a") + kClipboard + "b" + kTurned + "c" + kCsi + "2Jd" + kTag + "e\r\bf"; }

bool is_harmless(const std::string& text) {
  for (const char* bad : {"\x1b", "\x07", "\xC2\x9B", "\xE2\x80\xAE", "\xF3\xA0\x80\xA0", "\r", "\b"})
    if (text.find(bad) != std::string::npos) return false;
  return true;
}

/// What `write` puts into a file.
template <typename Write>
std::string written(Write write) {
  std::FILE* const file = std::tmpfile();
  write(file);
  std::rewind(file);
  std::string text(4096, '\0');
  text.resize(std::fread(text.data(), 1, text.size(), file));
  std::fclose(file);
  return text;
}

TEST(Terminal, NothingFromOutsideSteersIt) {
  const std::string text = written([](std::FILE* out) { EXPECT_TRUE(write_text(out, all_of_them() + "\nnext\n")); });
  EXPECT_TRUE(is_harmless(text)) << text;
  EXPECT_EQ(text, "a ]52;c;cm0gLXJmIH4= b c 2Jd e  f\nnext\n");
}

TEST(Terminal, ColumnsKeepTheirPlaces) {
  EXPECT_EQ(written([](std::FILE* out) { write_text(out, "KLVN       48.35\n  under\xC3\xA9 \xE2\x82\xAC\n"); }),
            "KLVN       48.35\n  under\xC3\xA9 \xE2\x82\xAC\n");
}

TEST(Terminal, PrintedValuesAreCleanToo) {
  testing::internal::CaptureStdout();
  print_out("feed %s: %-6s|%d\n", all_of_them().c_str(), "up", 7);
  std::fflush(stdout);
  EXPECT_EQ(testing::internal::GetCapturedStdout(), "feed a ]52;c;cm0gLXJmIH4= b c 2Jd e  f: up    |7\n");
  testing::internal::CaptureStderr();
  print_error("%s", all_of_them().c_str());
  EXPECT_TRUE(is_harmless(testing::internal::GetCapturedStderr()));
}

TEST(Terminal, JsonSaysTheSameAndSteersNothing) {
  const Json value = {{"text", all_of_them()}, {"emoji", "\xF0\x9F\x9A\x80"}};
  const std::string text = written([&](std::FILE* out) { write_json(out, value.dump() + "\n"); });
  EXPECT_TRUE(is_harmless(text)) << text;
  EXPECT_EQ(Json::parse(text), value);
  EXPECT_NE(text.find("\xF0\x9F\x9A\x80"), std::string::npos);
}

// A program that is no brimwatch may answer at the socket: then it is no JSON at all.
TEST(Terminal, WhatOnlyPretendsToBeJsonSteersNothingEither) {
  EXPECT_TRUE(is_harmless(written([](std::FILE* out) { write_json(out, all_of_them()); })));
}

TEST(Terminal, OurOwnStylesComeThrough) {
  EXPECT_EQ(written([](std::FILE* out) {
              set_style(out, Style::bold);
              write_text(out, "x");
              set_style(out, Style::plain);
            }),
            "\x1b[1mx\x1b[0m");
}

TEST(Terminal, AFullDiskIsSaid) {
  std::FILE* const full = std::fopen("/dev/full", "w");
  ASSERT_NE(full, nullptr);
  std::setvbuf(full, nullptr, _IONBF, 0);
  EXPECT_FALSE(write_text(full, "text\n"));
  std::fclose(full);
}

TEST(Terminal, AtTheEndAFullDiskIsKnownAlsoOfWhatWaitedInABuffer) {
  std::FILE* const full = std::fopen("/dev/full", "w");
  ASSERT_NE(full, nullptr);
  EXPECT_TRUE(write_text(full, "text\n"));
  EXPECT_FALSE(all_written(full));
  EXPECT_FALSE(all_written(full)) << "and it stays known";
  std::fclose(full);
  std::FILE* const good = std::tmpfile();
  write_text(good, "text\n");
  EXPECT_TRUE(all_written(good));
  std::fclose(good);
}

}  // namespace
}  // namespace brimwatch
