#include "desk/notice_pictures.h"

#include <gtest/gtest.h>

namespace brimwatch {
namespace {

class Keeps : public Channel {
 public:
  explicit Keeps(std::vector<Message>& sent) : sent_(sent) {}
  Delivery send(const Message& message) override {
    sent_.push_back(message);
    return {Outcome::delivered, "fine", std::nullopt};
  }

 private:
  std::vector<Message>& sent_;
};

Message message_about(std::initializer_list<const char*> ids) {
  Message message;
  for (const char* id : ids) {
    message.notices.emplace_back();
    message.notices.back().id = id;
  }
  return message;
}

DayPicture a_day(double price) {
  DayPicture day;
  day.symbol = "KLVN";
  day.pivot = 20;
  day.price = {{0, price}, {60, price + 0.2}};
  day.now_minute = 60;
  return day;
}

struct Pictures : testing::Test {
  std::vector<Message> sent;
  std::shared_ptr<PictureShelf> shelf = std::make_shared<PictureShelf>(2);
  std::unique_ptr<Channel> channel = pictured(std::make_unique<Keeps>(sent), shelf, PictureUse::mail);
};

TEST_F(Pictures, a_notice_goes_with_its_own_picture_the_same_at_every_attempt) {
  shelf->put("a", a_day(20));
  shelf->put("b", a_day(30));
  for (const char* id : {"a", "a", "b"}) EXPECT_EQ(channel->send(message_about({id})).outcome, Outcome::delivered);
  ASSERT_EQ(sent.size(), 3U);
  EXPECT_EQ(sent[0].picture_png, picture_png(a_day(20)));
  EXPECT_EQ(sent[0].picture_dark_png, picture_png(a_day(20), PictureStyle::dark));
  EXPECT_EQ(sent[0].picture_png, sent[1].picture_png);
  EXPECT_NE(sent[0].picture_png, sent[2].picture_png);
}

TEST_F(Pictures, digests_unknown_notices_and_days_without_a_price_go_without) {
  shelf->put("a", a_day(20));
  shelf->put("b", DayPicture());
  for (const Message& message :
       {message_about({"a", "b"}), message_about({"other"}), message_about({"b"}), message_about({})})
    EXPECT_EQ(channel->send(message).outcome, Outcome::delivered);
  ASSERT_EQ(sent.size(), 4U);
  for (const Message& message : sent) EXPECT_TRUE(message.picture_png.empty());
}

TEST_F(Pictures, only_the_newest_are_kept) {
  for (const char* id : {"a", "b", "c"}) shelf->put(id, a_day(20));
  EXPECT_FALSE(shelf->find("a"));
  EXPECT_TRUE(shelf->find("b"));
  EXPECT_TRUE(shelf->find("c"));
}

TEST(Pictured, is_for_mail_and_desktop_where_it_is_wanted) {
  ChannelSettings settings;
  for (const char* kind : {"email", "desktop"}) {
    settings.kind = kind;
    settings.picture = true;
    EXPECT_TRUE(shows_pictures(settings));
    settings.picture = false;
    EXPECT_FALSE(shows_pictures(settings));
  }
  settings.picture = true;
  for (const char* kind : {"console", "webhook", "command"}) {
    settings.kind = kind;
    EXPECT_FALSE(shows_pictures(settings));
  }
}

}  // namespace
}  // namespace brimwatch
