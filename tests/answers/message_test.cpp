// The form of answers on the socket: any bytes give a request or one line.
#include "answers/message.h"

#include <gmock/gmock.h>

namespace brimwatch {
namespace {

using testing::EndsWith;

TEST(AnswerMessage, ComesBackAsItWent) {
  AnswerRequest request{.kind = AnswerKind::add, .who = "phone \"A\"", .symbol = "KLVN", .pivot = "48.35"};
  request.note = "cup, 9 weeks\xE2\x82\xAC";
  request.until = "2026-12-31";
  const auto read = request_of(to_json(request));
  ASSERT_TRUE(read) << read.error().text;
  EXPECT_EQ(to_json(*read), to_json(request));
  EXPECT_EQ(read->note, request.note);
  EXPECT_EQ(read->who, request.who);
}

TEST(AnswerMessage, WhatIsNoRequestGetsOneLine) {
  for (const std::string& bad :
       {std::string(), std::string("x"), std::string("[]"), std::string("{}"), std::string(R"({"ask":"sell"})"),
        std::string(R"({"ask":1})"), std::string(R"({"ask":"mute","pivot":48.35})"),
        std::string(R"({"ask":"mute","more":"x"})"), std::string(R"({"ask":"mute","symbol":{"a":[]}})"),
        std::string(3000, '['), std::string("{\"ask\":\"mute\",\"symbol\":\"\xff\"}")}) {
    const auto read = request_of(bad);
    ASSERT_FALSE(read) << bad;
    EXPECT_THAT(read.error().text, EndsWith("nothing was changed"));
    EXPECT_EQ(read.error().text.find('\n'), std::string::npos);
  }
}

TEST(AnswerMessage, ANoticeNamesItsWatch) {
  const auto watch = watch_of_notice("2026-11-25/KLV/B/48.35/crossed/1");
  ASSERT_TRUE(watch);
  EXPECT_EQ(watch->symbol, "KLV/B");
  EXPECT_EQ(watch->pivot, *parse_price("48.35"));
  for (const char* bad :
       {"", "KLVN", "2026-11-25/KLVN/48.35/crossed", "2026-11-25/KLVN/x/crossed/1", "2026-11-25/KLVN/48.35/bent/1",
        "2026-11-25//48.35/crossed/1", "2026-11-25/main/0.00/feed-late/1"})
    EXPECT_FALSE(watch_of_notice(bad)) << bad;
}

}  // namespace
}  // namespace brimwatch
