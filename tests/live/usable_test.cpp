// What cannot be made is found by whoever reads the configuration, with its place in the file.
#include "live/usable.h"

#include <gmock/gmock.h>

#include "config/folder.h"

namespace brimwatch {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

struct Usable : testing::Test {
  Loaded load(const std::string& text, const LoadOptions& options = {}) {
    return load_settings(folder.write("main.toml", text), usable(options));
  }
  std::vector<std::string> problems(const std::string& text) { return folder.lines(load(text).problems); }
  std::vector<std::string> warnings(const std::string& text) {
    return folder.lines(load(text, {.files = true}).warnings);
  }
  Folder folder;
};

const std::string kHead = R"([[feed]]
name = "main"
kind = "stream"
url = "wss://quotes.example.org"
fields = { symbol = "/s", price = "/p" }
)";
const std::string kTail = R"(
[[channel]]
kind = "console"
[[watch]]
symbol = "KLVN"
pivot = 48.35
)";

TEST_F(Usable, AWordThatIsNoneIsRefusedWhereItStands) {
  EXPECT_THAT(problems(kHead + "kind_words = { t = \"tade\" }" + kTail),
              ElementsAre(testing::AllOf(HasSubstr("main.toml:6:20: feed \"main\": kind_words: found \"tade\""),
                                         HasSubstr("expected \"trade\""))));
  EXPECT_THAT(problems(kHead + "status_words = { H = \"hlt\" }" + kTail), ElementsAre(HasSubstr("6:22: ")));
  EXPECT_THAT(problems(kHead + "exchange_words = { first = \"NN\" }" + kTail), ElementsAre(HasSubstr("6:28: ")));
  EXPECT_THAT(problems(kHead + "symbol_form = \"US:\"" + kTail), ElementsAre(HasSubstr("6:15: ")));
}

TEST_F(Usable, AllThatIsWrongIsToldAtOnce) {
  EXPECT_THAT(problems(kHead + "kind_words = { t = \"tade\" }\nsymbol_form = \"US:\"" + kTail),
              ElementsAre(HasSubstr("6:20: "), HasSubstr("7:15: ")));
}

TEST_F(Usable, AnAddressThatTheChannelRefusesIsRefusedAtOnce) {
  const std::string mail = R"([[channel]]
kind = "email"
url = "smtp://mail.example.org:587"
from = "me@example.org"
to = ["\"a b\"@example.org"]
[[watch]]
symbol = "KLVN"
pivot = 48.35
)";
  EXPECT_THAT(problems(kHead + mail), ElementsAre(testing::AllOf(HasSubstr("main.toml:10:1: "), HasSubstr("to: "))));
  std::string off = mail;
  off.insert(off.find("[[watch]]"), "enabled = false\n");
  EXPECT_THAT(problems(kHead + off + "[[channel]]\nkind = \"console\"\n"), IsEmpty())
      << "what is switched off is not asked";
}

TEST_F(Usable, WhatIsPerhapsNotMeantIsAWarning) {
  EXPECT_THAT(
      warnings(kHead + "subscribe = '{\"do\":\"all\"}'" + kTail),
      ElementsAre(testing::AllOf(HasSubstr("main.toml:6:1: feed \"main\": subscribe: "), HasSubstr("never told"))));
  EXPECT_THAT(warnings(kHead + "subscribe = '{\"do\":{symbol_list}}'" + kTail),
              testing::Contains(HasSubstr("found {symbol_list}, which stays as it is")));
  EXPECT_THAT(warnings(kHead + "subscribe = '{\"do\":\"{symbol}\"}'" + kTail), IsEmpty());
  EXPECT_THAT(warnings("[[feed]]\nkind = \"pipe\"" + kTail),
              ElementsAre(testing::AllOf(HasSubstr("main.toml:1:1: "), HasSubstr("standard input"))));
  EXPECT_THAT(warnings(kHead + "[[channel]]\nkind = \"console\"\n[[watch]]\nsymbol = \"klvn\"\npivot = 48.35\n"),
              ElementsAre(HasSubstr("small letters")));
}

}  // namespace
}  // namespace brimwatch
