// What a machine knows of the shared log: each value is read once, and what cannot be read is known as long as it is
// there.
#include "shared/entries/view.h"

#include <gmock/gmock.h>

namespace brimwatch {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

constexpr const char* kUnreadable = R"({"v":99})";

LogEntry entry(std::string key, std::string value, Revision changed, Revision created = 1) {
  return {"brimwatch/mine/" + std::move(key), std::move(value), created, changed, 0};
}
LogEntry member(const std::string& name, std::uint64_t watches, Revision changed) {
  SharedMember one{.name = name, .version = "1"};
  one.watches = watches;
  return entry("member/" + name, to_value(one), changed);
}
LogEntry delivery(DeliveryState state, Revision changed) {
  return entry("delivery/2026-11-25/n1/mail",
               to_value(SharedDelivery{{.notice_id = "2026-11-25/n1", .channel = "mail", .state = state}, {}}), changed);
}

TEST(SharedView, what_comes_again_unchanged_is_no_news_and_what_has_changed_is) {
  SharedView view("mine");
  EXPECT_THAT(view.apply({delivery(DeliveryState::pending, 5)}).deliveries, SizeIs(1));
  EXPECT_THAT(view.apply({delivery(DeliveryState::pending, 5)}).deliveries, IsEmpty());
  EXPECT_THAT(view.apply({delivery(DeliveryState::delivered, 6)}).deliveries, SizeIs(1));
}

/// The answer to a commit may come after what was written later has been read.
TEST(SharedView, what_was_written_before_does_not_go_over_what_has_been_read_since) {
  SharedView view("mine");
  (void)view.apply({delivery(DeliveryState::delivered, 6)});
  const DeliveryRow pending{.notice_id = "2026-11-25/n1", .channel = "mail", .state = DeliveryState::pending};
  view.note(SharedDelivery{pending, {}}, 5);
  EXPECT_THAT(view.apply({delivery(DeliveryState::delivered, 7)}).deliveries, IsEmpty());
  view.note(SharedDelivery{pending, {}}, 8);
  EXPECT_THAT(view.apply({delivery(DeliveryState::delivered, 9)}).deliveries, SizeIs(1));
}

/// etcd set up anew, with nothing in it: its revisions begin again.
TEST(SharedView, of_a_log_that_was_begun_anew_the_same_revision_is_another_one) {
  SharedView view("mine");
  (void)view.apply({delivery(DeliveryState::pending, 5)});
  EXPECT_THAT(view.apply({delivery(DeliveryState::delivered, 5)}).deliveries, SizeIs(1));
}

TEST(SharedView, members_are_those_that_are_there_each_as_it_is_now) {
  SharedView view("mine");
  EXPECT_TRUE(view.set_members({member("cloud", 1, 3), member("home", 1, 4)}));
  EXPECT_TRUE(view.set_members({member("cloud", 1, 3), member("home", 7, 5)}));
  ASSERT_THAT(view.members(), SizeIs(2));
  EXPECT_EQ(view.members().at("cloud").watches, 1U);
  EXPECT_EQ(view.members().at("home").watches, 7U);
  EXPECT_TRUE(view.set_members({member("home", 7, 5)}));
  EXPECT_THAT(view.members(), SizeIs(1));
  EXPECT_TRUE(view.set_members(
      {member("cloud", 1, 3), member("home", 7, 5)}));  // its record of before, from a page that came late
  EXPECT_THAT(view.members(), SizeIs(2));
}

TEST(SharedView, what_cannot_be_read_is_known_until_it_is_gone_or_can_be) {
  SharedView view("mine");
  EXPECT_TRUE(view.set_members({member("home", 1, 2), entry("member/cloud", kUnreadable, 3)}));
  EXPECT_THAT(view.unreadable(), HasSubstr("a member in the shared log: found version 99"));
  EXPECT_FALSE(view.set_members({member("home", 1, 2), entry("member/cloud", kUnreadable, 3)}));
  EXPECT_THAT(view.unreadable(), HasSubstr("found version 99")) << "it is there still";
  EXPECT_TRUE(view.set_members({member("home", 1, 2)}));
  EXPECT_EQ(view.unreadable(), "");
  (void)view.apply({entry("watch/KLVN/48.35", kUnreadable, 4)});
  EXPECT_THAT(view.unreadable(), HasSubstr("a watch"));
  WatchState state;
  state.symbol = "KLVN", state.pivot = Price{48'350'000};
  (void)view.apply({entry("watch/KLVN/48.35", to_value(state), 5)});
  EXPECT_EQ(view.unreadable(), "") << "whoever leads has written it anew";
}

TEST(SharedView, what_is_forgotten_forbids_nothing_any_more) {
  SharedView view("mine");
  (void)view.apply({entry("notice/2026-01-02/n1", kUnreadable, 2), entry("notice/2026-11-25/n1", kUnreadable, 3)});
  view.forget_before(Date::of(2026, 11, 25));
  EXPECT_THAT(view.unreadable(), HasSubstr("a notice"));
  view.forget_before(Date::of(2026, 11, 26));
  EXPECT_EQ(view.unreadable(), "");
}

TEST(SharedView, who_speaks_is_whoever_the_entry_says_and_nobody_without_one) {
  SharedView view("mine");
  view.set_leader(entry("leader", to_value(SharedSpeaker{"home", {}, {}}), 2, 2));
  ASSERT_TRUE(view.speaker());
  view.set_leader(entry("leader", to_value(SharedSpeaker{"home", {}, {}}), 2, 2));
  EXPECT_EQ(view.speaker()->name, "home");
  view.set_leader(entry("leader", to_value(SharedSpeaker{"cloud", {}, {}}), 3, 3));
  EXPECT_EQ(view.speaker()->name, "cloud");
  view.set_leader(std::nullopt);
  EXPECT_FALSE(view.speaker());
  view.set_leader(entry("leader", to_value(SharedSpeaker{"cloud", {}, {}}), 3, 3));
  EXPECT_TRUE(view.speaker());
  view.set_leader(entry("leader", kUnreadable, 4, 4));
  EXPECT_FALSE(view.speaker());
  EXPECT_THAT(view.unreadable(), HasSubstr("the speaker"));
}

}  // namespace
}  // namespace brimwatch
