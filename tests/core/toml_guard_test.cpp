#include "core/text/toml_guard.h"

#include <gmock/gmock.h>

#include <string>

namespace brimwatch {
namespace {

std::string trouble(std::string_view text) {
  const auto found = toml_trouble(text);
  if (!found) return "none";
  return std::to_string(found->line) + ":" + std::to_string(found->column) + ": " + std::string(found->text);
}

TEST(TomlGuard, lets_valid_toml_pass) {
  for (const char* text : {
           "",
           "\xEF\xBB\xBF# gr\xC3\xB6\xC3\x9F"
           "e\r\na = 1\r\n",
           "a = \"\xC3\xA4\" # \xC3\xA4\n[\"\xC3\xA4\"]\n'\xC3\xB6' = '\xC3\xBC'\n",
           "[ a . b ]\n[[ c ]]\n[-_9]\n",
           "a = [\n  [ 1, 2 ],\n  [[3], {b = [ 4 ]}],\n]\n",
           "a = \"\"\"\n[=]\n\xC3\xA4 \\\" \"\" x\"\"\"\"\"\n[b]\n",
           "a = '''\n[=] ''\\'''\n[b]\n",
           "a = \"\\\\\"\nb = \"\\\"[\"\n[c]\n",
           "a = \"#\" # \"\n[b]\n",
           "a = [ # [\n  1 ] # ]\n[b]\n",
       }) {
    EXPECT_EQ(trouble(text), "none") << text;
  }
}

TEST(TomlGuard, leaves_other_mistakes_to_the_parser) {
  for (const char* text :
       {"[", "[[", "[]", "a = ", "a = \"x\n[b]\n", "a = ]\n[b]\n", "= 1", "a = '''", "a = \"\\", "[a"}) {
    EXPECT_EQ(trouble(text), "none") << text;
  }
}

TEST(TomlGuard, refuses_headers_without_a_key) {
  const std::string why = "a section's name begins with a letter, digit, _, - or a quote";
  EXPECT_EQ(trouble("a = 1\n  [=]\n"), "2:4: " + why);
  EXPECT_EQ(trouble("[[[a]]]"), "1:3: " + why);
  EXPECT_EQ(trouble("[.a]"), "1:2: " + why);
  EXPECT_EQ(trouble("[ #"), "1:3: " + why);
  EXPECT_EQ(trouble("a = [1]\n[\n"), "2:2: " + why);
}

TEST(TomlGuard, refuses_letters_outside_quotes_that_toml_does_not_know) {
  const std::string why = "letters outside quotes are a-z, A-Z, 0-9, _ and -; put other ones in quotes";
  EXPECT_EQ(trouble("\xC3\xA4 = 1"), "1:1: " + why);
  EXPECT_EQ(trouble("a = { \"\xC3\xA4\" = \xC3\xA4 }"), "1:13: " + why);
  EXPECT_EQ(trouble("a = 1\xC2\xA0\n"), "1:6: " + why);
}

TEST(TomlGuard, refuses_brackets_closed_by_braces) {
  const std::string why = "a bracket closes what a brace opened, or the other way round";
  EXPECT_EQ(trouble("a = [ }"), "1:7: " + why);
  EXPECT_EQ(trouble("a = [{ b = [\n1 ] ]"), "2:5: " + why);
}

TEST(TomlGuard, refuses_keys_of_very_many_parts) {
  std::string key = "a";
  for (int i = 0; i < 64; ++i) key += ".a";
  EXPECT_EQ(trouble("\n" + key + " = 1\n" + key + " = '....'\n"), "none");
  EXPECT_EQ(trouble("\n" + key + ".a = 1\n"), "2:130: more than 64 points in one key");
  EXPECT_EQ(trouble("a = { b = 1, " + key + ".a = 1 }\n"), "1:143: more than 64 points in one key");
  EXPECT_EQ(trouble("a = [1.5, " + key + ".a]\n"), "1:140: more than 64 points in one key");
}

// A watch list may be one line: each of its numbers has a point.
TEST(TomlGuard, takes_a_list_on_one_line) {
  std::string list = "watch = [";
  for (int i = 0; i < 100; ++i) list += "{ symbol = \"KLVN\", pivot = 48.35, offset = 0.10 }, ";
  EXPECT_EQ(trouble(list + "]\n"), "none");
}

}  // namespace
}  // namespace brimwatch
