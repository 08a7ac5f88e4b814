// Answers in the shapes that sources refuse with: JSON of several kinds (RFC 9457 among them), plain text, a page.
#include "config/told_reason.h"

#include <gmock/gmock.h>

namespace brimwatch {
namespace {

using testing::HasSubstr;
using testing::Not;
using testing::SizeIs;

TEST(ToldReason, TheMessageOfJson) {
  for (const char* body :
       {R"({"message":"key expired"})", R"({"status":401,"error":"key expired"})",
        R"({"error":{"code":7,"message":"key expired"}})", R"({"errors":[{"detail":"key expired","id":3}]})",
        R"({"code":3,"error":true,"msg":"key expired"})", R"("key expired")",
        R"({"type":"about:blank","title":"Unauthorized","status":401,"detail":"key expired"})",
        R"([{"reason":"key expired"}])", "\n  {\"description\" : \"key\\nexpired\"}"})
    EXPECT_EQ(told_reason(body), "key expired") << body;
}

TEST(ToldReason, TheFirstLineOfTextAndTheTitleOfAPage) {
  EXPECT_EQ(told_reason("key expired\r\nsee the manual\n"), "key expired");
  EXPECT_EQ(told_reason("\n\nkey expired"), "key expired");
  EXPECT_EQ(told_reason("<!DOCTYPE html><HTML><head><Title> Forbidden\n for you</Title></head><body>long</body>"),
            "Forbidden for you");
  EXPECT_EQ(told_reason("<Error><Code>7</Code><Message>key expired</Message></Error>"), "7 key expired");
}

TEST(ToldReason, NothingOfABodyThatSaysNothing) {
  for (const char* body : {"", " \r\n\t", "<html><body></body></html>", "<title>", "\x1b\x07"})
    EXPECT_EQ(told_reason(body), "");
  EXPECT_EQ(quoted_reason(""), "");
  EXPECT_EQ(quoted_reason("no"), ": \"no\"");
}

TEST(ToldReason, AnErrorOfAnAnswerThatIsNoRefusal) {
  EXPECT_EQ(told_error(R"({"error":"unknown symbol","data":[]})", false), "unknown symbol");
  EXPECT_EQ(told_error(R"({"Error Message":"unknown symbol"})", false), "unknown symbol");
  EXPECT_EQ(told_error(R"({"status":"bad","error":{"code":4,"text":"x","message":"unknown symbol"}})", false),
            "unknown symbol");
  EXPECT_EQ(told_error(R"({"code":404,"message":"unknown symbol"})", true), "unknown symbol");
  for (const char* fine : {R"({"message":"success","data":[]})", R"({"error":null,"r":[]})", R"({"error":""})",
                           R"({"error":false})", R"({"errors":[]})", "[]", "3", "", "nonsense"})
    EXPECT_EQ(told_error(fine, false), "") << fine;
}

TEST(ToldReason, JsonWithoutAMessageIsShownAsItIs) {
  EXPECT_EQ(told_reason(R"({"code":17})"), R"({"code":17})");
  EXPECT_EQ(told_reason(R"({"message":"half)"), R"({"message":"half)");
}

TEST(ToldReason, NoKeyAndNoAddressThatMayHoldOne) {
  EXPECT_EQ(told_reason("see https://user:pw@quotes.example.org:8443/k/9f8a7b6c?token=abc for it"),
            "see https://quotes.example.org:8443 for it");
  EXPECT_EQ(told_reason("GET /v1/bars?symbol=KLVN&apikey=k-123 is not allowed"), "GET /v1/bars?... is not allowed");
  EXPECT_EQ(told_reason("unknown apikey=k-123, token=abc"), "unknown apikey=..., token=...");
  EXPECT_EQ(told_reason("the key 9f8a7b6c5d4e3f2a1b0c9d8e is unknown"), "the key (code) is unknown");
  EXPECT_EQ(told_reason(R"({"message":"bad http://[::1]:99999/x?k=secretsecret"})"), "bad (an address)");
  EXPECT_EQ(told_reason("not at http://[::1]:8443/hooks/T1 here"), "not at http://[::1]:8443 here");
  EXPECT_EQ(told_reason("KLVN is not in your plan since 2026-11-24T05:00:00Z"),
            "KLVN is not in your plan since 2026-11-24T05:00:00Z");
}

TEST(ToldReason, IsOneShortLineWithoutWhatSteersATerminal) {
  EXPECT_THAT(told_reason(std::string(1 << 20, 'x')), SizeIs(120));
  EXPECT_THAT(told_reason("{\"message\":\"" + std::string(1 << 20, 'y') + "\"}"), SizeIs(120));
  EXPECT_EQ(told_reason("a\x1b[31mb\tc"), "a [31mb c");
  EXPECT_THAT(told_reason(std::string(5000, '[')), Not(HasSubstr("\n")));
}

}  // namespace
}  // namespace brimwatch
