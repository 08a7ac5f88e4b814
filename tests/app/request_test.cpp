#include "app/request.h"

#include <gtest/gtest.h>

#include <string>

namespace brimwatch {
namespace {

TEST(Request, KnowsWhatMayBeAsked) {
  EXPECT_EQ(ask_of(R"({"ask":"now"})"), Ask::now);
  EXPECT_EQ(ask_of(R"({"ask":"reload","more":[1]})"), Ask::reload);
  for (const char* word : {"acknowledge", "mute", "unmute", "drop", "add", "bought", "sold", "link"})
    EXPECT_EQ(ask_of(std::string(R"({"ask":")") + word + "\"}"), Ask::answer) << word;
}

TEST(Request, AnythingElseIsUnknown) {
  for (const char* bad :
       {"", "now", "{}", "[]", R"({"ask":1})", R"({"ask":"stop"})", R"({"ask":"now"} x)", "{\"ask\":\"no"})
    EXPECT_EQ(ask_of(bad), Ask::unknown) << bad;
  EXPECT_EQ(ask_of(std::string(4000, '[')), Ask::unknown) << "deep nesting costs no stack";
}

}  // namespace
}  // namespace brimwatch
