#include "rehearsal/misbehaviour.h"

#include <gmock/gmock.h>

namespace brimwatch {
namespace {

using Kind = Misbehaviour::Kind;
using testing::HasSubstr;

TEST(Misbehaviour, ReadsWhatAPersonAsksFor) {
  EXPECT_EQ(parse_misbehaviour("stall:40@10:15").value(), (Misbehaviour{Kind::stall, 40, 36'900, true}));
  EXPECT_EQ(parse_misbehaviour("lose:0.5@09:30:30").value(), (Misbehaviour{Kind::lose, 0.5, 34'230, true}));
  EXPECT_EQ(parse_misbehaviour("away").value(), (Misbehaviour{Kind::away, 30, 0, false}));
  EXPECT_EQ(parse_misbehaviour("close:1013@00:00").value(), (Misbehaviour{Kind::close, 1013, 0, true}));
  EXPECT_EQ(parse_misbehaviour("cut@23:59:59").value(), (Misbehaviour{Kind::cut, 0, 86'399, true}));
  EXPECT_EQ(parse_misbehaviour("drop:2.5").value(), (Misbehaviour{Kind::drop, 2.5, 0, false}));
  for (const char* word : {"delay", "garbage", "duplicate", "reorder", "close"})
    EXPECT_TRUE(parse_misbehaviour(word)) << word;
}

TEST(Misbehaviour, SaysWhatIsAllowedInsteadOfWhatItFound) {
  for (const auto& [text, wanted] : {
           std::pair("stal:4", "expected one of stall, lose,"),
           std::pair("", "expected one of"),
           std::pair("stall:", "expected seconds behind stall"),
           std::pair("stall:-1", "expected seconds"),
           std::pair("stall:1e3", "expected seconds"),
           std::pair("drop:101", "expected percent of the messages"),
           std::pair("cut:1", "expected no amount"),
           std::pair("close:5000", "expected a close code"),
           std::pair("cut@25:00", "a moment such as 10:15"),
           std::pair("cut@10:5", "a moment such as 10:15"),
           std::pair("cut@", "a moment such as 10:15"),
       }) {
    const auto read = parse_misbehaviour(text);
    ASSERT_FALSE(read) << text;
    EXPECT_THAT(read.error().text, HasSubstr(wanted));
    EXPECT_THAT(read.error().text, HasSubstr("found \"" + std::string(text) + "\""));
  }
}

}  // namespace
}  // namespace brimwatch
