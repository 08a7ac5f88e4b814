// A configuration is put in force whole, or not at all.
#include "house_rig.h"

namespace brimwatch::simulation {
namespace {

using testing::Contains;
using testing::HasSubstr;

struct InForce : HouseRig {
  bool reload(Settings settings) {
    Loaded loaded;
    loaded.settings = std::move(settings);
    return house->apply(make_ready(std::move(loaded)));
  }
  [[nodiscard]] std::vector<std::string> texts() const {
    std::vector<std::string> out;
    for (const Message& message : sent) {
      std::string text = message.text;
      std::replace(text.begin(), text.end(), '\n', ' ');
      out.push_back(std::move(text));
    }
    return out;
  }
};

TEST_F(InForce, AReloadWhoseFeedCannotBeMadeIsRefusedWholeAndTheOldFeedGoesOn) {
  Settings wanted = sample();
  wanted.feeds[0].kind_words["T"] = "tade";
  wanted.watches = {test::watch_on("NIVO", "8.00")};
  cannot_be_made = {"main"};
  EXPECT_FALSE(reload(std::move(wanted)));
  EXPECT_EQ(house->desk().settings().watches.symbol(0), "KLVN");
  trade("KLVN", "20.10");
  pass(kSecond);
  EXPECT_EQ(times_sent("KLVN"), 1U);
  EXPECT_THAT(texts(), Contains(HasSubstr("refused")));
  EXPECT_THAT(texts(), Contains(HasSubstr("kind_words.T")));
}

TEST_F(InForce, AReloadWhoseChannelCannotBeMadeIsRefusedWholeAndWhatWaitedIsStillSent) {
  Settings wanted = sample();
  wanted.channels[0].per_minute = 1;
  wanted.feeds.push_back(wanted.feeds[0]);
  wanted.feeds[1].name = "more";
  cannot_be_made = {"desk"};
  trade("KLVN", "20.10");
  EXPECT_FALSE(reload(std::move(wanted)));
  EXPECT_EQ(house->snapshot().feeds.size(), 1U) << "not even what could be made is in force";
  pass(kSecond);
  EXPECT_EQ(times_sent("KLVN"), 1U);
}

TEST_F(InForce, WithoutAnyFeedItTellsThatNothingIsSeen) {
  Settings wanted = sample();
  wanted.feeds[0].enabled = false;
  EXPECT_TRUE(reload(std::move(wanted)));
  pass(kSecond);
  EXPECT_THAT(texts(), Contains(HasSubstr("no feed is in force")));
}

TEST_F(InForce, AReloadThatNamesNoWatchIsRefusedAndTheListStays) {
  Loaded loaded;
  loaded.settings = sample();
  loaded.settings.watches = {};
  EXPECT_FALSE(house->apply(make_ready(std::move(loaded))));
  pass(kSecond);
  ASSERT_EQ(times_sent("configuration"), 1U);
  trade("KLVN", "20.10");
  pass(kSecond);
  EXPECT_EQ(times_sent("KLVN crossed"), 1U);
}

TEST_F(InForce, AReloadTellsItsWarningsAndShowsThem) {
  Loaded loaded;
  loaded.settings = sample();
  loaded.warnings = {Problem{"b.toml", 3, 9, "perhaps not meant"}};
  EXPECT_TRUE(house->apply(make_ready(std::move(loaded))));
  EXPECT_THAT(logged, Contains(HasSubstr("b.toml:3:9: perhaps not meant")));
  EXPECT_THAT(house->snapshot().configuration.warnings, testing::ElementsAre("b.toml:3:9: perhaps not meant"));
  EXPECT_EQ(house->snapshot().configuration.refused, "");
}

TEST_F(InForce, ARefusedReloadIsShownUntilOneIsTaken) {
  house->note_warnings({"of the start"});
  Loaded none;
  none.settings = sample();
  none.settings.watches = {};
  EXPECT_FALSE(house->apply(make_ready(std::move(none))));
  EXPECT_THAT(house->snapshot().configuration.refused, HasSubstr("it names no watch"));
  EXPECT_THAT(house->snapshot().configuration.warnings, testing::ElementsAre("of the start"));
  house->refuse({}, "it was not read: the disk does not answer");
  EXPECT_EQ(house->snapshot().configuration.refused, "it was not read: the disk does not answer");
  pass(kSecond);
  EXPECT_THAT(texts(), Contains(HasSubstr("was not read")));
  EXPECT_TRUE(reload(sample()));
  EXPECT_EQ(house->snapshot().configuration.refused, "");
  EXPECT_THAT(house->snapshot().configuration.warnings, testing::IsEmpty());
}

}  // namespace
}  // namespace brimwatch::simulation
