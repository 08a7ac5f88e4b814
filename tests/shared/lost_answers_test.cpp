// A log whose answers do not come, though it lets a machine lead: what was asked is found again, or goes without it.
#include "voices.h"

namespace brimwatch {
namespace {

using test::FakeLink;
using test::Voices;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

TEST_F(Voices, an_answer_that_was_lost_is_found_in_the_log_and_told_once) {
  begin();
  int lost = 0;
  home.link.fate = [&](const LogRequest& request) {
    const bool notice = !request.conditions.empty() && request.conditions.size() == 2;
    return notice && lost++ == 0 ? FakeLink::Fate::lost_after : FakeLink::Fate::arrives;
  };
  home.say("n1");
  run(3 * kSecond);
  EXPECT_EQ(lost, 2);
  EXPECT_THAT(home.told, ElementsAre("n1"));
  EXPECT_THAT(cloud.told, IsEmpty());
}

/// Nobody knows whether the log has it: it is told, and says that it may come twice.
struct NoNotice : Voices, testing::WithParamInterface<FakeLink::Fate> {
  void SetUp() override {
    begin();
    home.link.fate = [](const LogRequest& request) {
      return request.conditions.size() == 2 ? GetParam() : FakeLink::Fate::arrives;
    };
    home.say("n1");
  }
};

TEST_P(NoNotice, waits_for_ever_for_a_log_that_answers_everything_else) {
  run(9 * kSecond);
  EXPECT_THAT(home.told, IsEmpty());
  EXPECT_EQ(home.role(), Role::speaking);
  run(4 * kSecond);
  EXPECT_THAT(home.told, ElementsAre("n1"));
  EXPECT_THAT(home.texts, ElementsAre(HasSubstr("home speaks alone; another machine may tell this too.")));
  home.link.fate = {};
  run(20 * kSecond);
  EXPECT_THAT(home.told, ElementsAre("n1"));
  EXPECT_THAT(cloud.told, IsEmpty());
  EXPECT_THAT(cloud.heard, ElementsAre("n1"));
  EXPECT_EQ(watch_in_log().side, Side::inside);
  EXPECT_EQ(home.role(), Role::speaking);
}

INSTANTIATE_TEST_SUITE_P(Lost, NoNotice, testing::Values(FakeLink::Fate::lost_before, FakeLink::Fate::lost_after));

}  // namespace
}  // namespace brimwatch
