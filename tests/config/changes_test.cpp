#include "config/changes.h"

#include <gmock/gmock.h>

#include <algorithm>
#include <map>
#include <random>

namespace brimwatch {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

Watch watch(const std::string& symbol, std::int64_t pivot) {
  Watch out;
  out.symbol = symbol;
  out.pivot = Price{pivot * kMicrosPerUnit};
  out.calendar = "XNYS";
  set_levels(out);
  return out;
}

FeedSettings feed(const std::string& name) {
  FeedSettings out;
  out.name = name;
  return out;
}

ChannelSettings channel(const std::string& name) {
  ChannelSettings out;
  out.name = out.kind = name;
  return out;
}

Settings some() {
  Settings out;
  out.watches = {watch("A", 1), watch("B", 2), watch("C", 3)};
  out.feeds = {feed("main")};
  out.channels = {channel("console"), channel("mail")};
  return out;
}

TEST(Changes, of_the_same_settings_there_are_none) {
  const Changes none = compare(some(), some());
  EXPECT_FALSE(none.any());
  EXPECT_EQ(none.unchanged, 3U);
  EXPECT_EQ(summary(none, some(), some()), "nothing changed");
}

TEST(Changes, another_place_in_the_file_is_no_change) {
  Settings now = some();
  std::vector<Watch> list(now.watches.begin(), now.watches.end());
  list[1].line = 99;
  list[1].file = 3;
  now.watches = list;
  EXPECT_FALSE(compare(some(), now).any());
}

TEST(Changes, watches_are_told_apart_by_symbol_and_pivot) {
  Settings now = some();
  std::vector list{watch("C", 3), watch("A", 1), watch("B", 5), watch("D", 4)};
  list[1].note = "new";
  now.watches = list;
  const Changes changes = compare(some(), now);
  EXPECT_THAT(changes.added, ElementsAre(2, 3));
  EXPECT_THAT(changes.removed, ElementsAre(1));
  EXPECT_THAT(changes.changed, ElementsAre(1));
  EXPECT_EQ(changes.unchanged, 1U);
  EXPECT_TRUE(changes.order);
  EXPECT_TRUE(changes.symbols);
  EXPECT_EQ(summary(changes, some(), now), "2 watches added, 1 removed, 1 changed, 1 unchanged");
}

TEST(Changes, another_pivot_of_a_known_symbol_leaves_the_subscription_alone) {
  Settings now = some();
  now.watches.push_back(watch("A", 7));
  const Changes changes = compare(some(), now);
  EXPECT_FALSE(changes.symbols);
  EXPECT_EQ(summary(changes, some(), now), "1 watch added, 3 unchanged");
}

TEST(Changes, feeds_and_channels_are_stopped_and_started_by_name) {
  Settings now = some();
  now.feeds[0].url = "wss://other.example.org";
  now.feeds.push_back(feed("second"));
  now.channels[1].enabled = false;
  now.channels.push_back(channel("desktop"));
  const Changes changes = compare(some(), now);
  EXPECT_EQ(changes.feeds, (NameChanges{{"main"}, {"main", "second"}}));
  EXPECT_EQ(changes.channels, (NameChanges{{"mail"}, {"desktop"}}));
  EXPECT_EQ(summary(changes, some(), now),
            "feed \"main\" restarted; feed \"second\" started; channel \"desktop\" started; channel \"mail\" stopped");
}

TEST(Changes, a_disabled_feed_that_changes_is_no_change) {
  Settings old = some(), now = some();
  old.feeds[0].enabled = now.feeds[0].enabled = false;
  now.feeds[0].url = "wss://other.example.org";
  EXPECT_FALSE(compare(old, now).any());
}

TEST(Changes, sections_are_named) {
  Settings now = some();
  now.market.trend = Trend::down;
  now.page.on = true;
  now.journal = "/elsewhere";
  const Changes changes = compare(some(), now);
  EXPECT_EQ(summary(changes, some(), now),
            "market trend down; [page] changed; another journal, used from the next start on");
}

TEST(Changes, agree_with_a_plain_comparison_on_random_lists) {
  std::mt19937 random(7);
  for (int round = 0; round < 300; ++round) {
    Settings old, now;
    const int size = static_cast<int>(random() % 120);
    for (int i = 0; i < size; ++i) old.watches.push_back(watch("S" + std::to_string(random() % 40), 1 + i));
    std::vector<Watch> list;
    for (const Watch& one : old.watches) {
      if (random() % 10 == 0) continue;
      list.push_back(one);
      if (random() % 10 == 0) list.back().note = "changed";
      if (random() % 10 == 0)
        list.push_back(watch("N" + std::to_string(random() % 9), 1000 + static_cast<int>(list.size())));
    }
    if (random() % 3 == 0) std::shuffle(list.begin(), list.end(), random);
    now.watches = list;

    std::map<std::pair<std::string, std::int64_t>, std::uint32_t> where;
    for (std::uint32_t i = 0; i < old.watches.size(); ++i)
      where[{old.watches[i].symbol, old.watches[i].pivot.micros}] = i;
    std::vector<std::uint32_t> added, changed, removed;
    for (std::uint32_t j = 0; j < now.watches.size(); ++j) {
      const auto found = where.find({now.watches[j].symbol, now.watches[j].pivot.micros});
      if (found == where.end()) {
        added.push_back(j);
        continue;
      }
      if (!(now.watches[j] == old.watches[found->second])) changed.push_back(j);
      where.erase(found);
    }
    for (const auto& [key, i] : where) removed.push_back(i);
    std::sort(removed.begin(), removed.end());

    const Changes changes = compare(old, now);
    EXPECT_EQ(changes.added, added);
    EXPECT_EQ(changes.changed, changed);
    EXPECT_EQ(changes.removed, removed);
    EXPECT_EQ(changes.unchanged, now.watches.size() - added.size() - changed.size());
  }
}

}  // namespace
}  // namespace brimwatch
