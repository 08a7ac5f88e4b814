// Where this machine's engine and the log have a watch otherwise: which of the two stays.
#include "shared/own_watches.h"

#include <gmock/gmock.h>

namespace brimwatch {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

/// As a trade at that second has left it, with so many crossings.
WatchState watch(int second, int crossings = 0, const std::string& symbol = "KLVN") {
  WatchState state;
  state.symbol = symbol, state.pivot = Price{48'350'000};
  state.counts[0] = static_cast<std::uint16_t>(crossings);
  WatchPast last;
  last.by.time = Timestamp{second * kSecond};
  if (second > 0) state.past = pack({last});
  return state;
}

const OwnWatches::Key kKey{"KLVN", Price{48'350'000}};

struct OwnWatchesTest : testing::Test {
  SharedView view{"mine"};
  Owed owed;
  OwnWatches own{view, owed};
  std::set<OwnWatches::Key> told;
  OwnWatches::IsWaiting nothing_waits = [](const auto&) { return false; };
  OwnWatches::IsWaiting all_wait = [](const auto&) { return true; };
  Revision revision = 0;

  void log_has(const WatchState& state) { view.note(state, ++revision); }
  OwnWatches::Decided lead(Nanos since, bool was_alone = false) {
    return own.decide({.since = since, .was_alone = was_alone, .told = told, .is_waiting = nothing_waits}, kMinute);
  }
};

TEST_F(OwnWatchesTest, a_standby_takes_over_what_the_log_has_unless_it_has_heard_more) {
  own.note(watch(2), 0);
  EXPECT_THAT(own.take_over({watch(1)}, 0), IsEmpty());
  EXPECT_EQ(*own.find(kKey), watch(2));
  EXPECT_THAT(own.take_over({watch(2, 1)}, 0), ElementsAre(watch(2, 1))) << "the same, counted otherwise";
  EXPECT_EQ(own.find(kKey), nullptr);
}

TEST_F(OwnWatchesTest, at_a_takeover_the_watch_is_as_the_one_before_had_it) {
  log_has(watch(5, 3));
  own.note(watch(5, 1), 20 * kSecond);
  const OwnWatches::Decided decided = lead(10 * kSecond);
  EXPECT_THAT(decided.theirs, ElementsAre(watch(5, 3)));
  EXPECT_THAT(decided.ours, IsEmpty());
}

TEST_F(OwnWatchesTest, what_was_heard_when_the_one_before_led_no_more_stays) {
  log_has(watch(5, 3));
  own.note(watch(6, 1), 20 * kSecond);
  EXPECT_THAT(lead(10 * kSecond).ours, ElementsAre(watch(6, 1)));
  own.note(watch(6, 1), 9 * kSecond);
  EXPECT_THAT(lead(10 * kSecond).theirs, ElementsAre(watch(5, 3))) << "it led then, and did not write it";
}

TEST_F(OwnWatchesTest, what_is_told_or_brought_or_was_kept_alone_or_only_differs_in_its_side_stays) {
  log_has(watch(5, 3));
  own.note(watch(6, 1), 0);
  EXPECT_THAT(lead(10 * kSecond, true).ours, ElementsAre(watch(6, 1))) << "it was alone";
  own.note(watch(6, 1), 0);
  own.mark_as_brought(kKey);
  EXPECT_THAT(lead(10 * kSecond).ours, ElementsAre(watch(6, 1))) << "brought";
  WatchState armed = watch(5, 3);
  armed.side = Side::under;
  own.note(armed, 0);
  EXPECT_THAT(lead(10 * kSecond).ours, ElementsAre(armed)) << "armed again";
  own.note(watch(4, 1), 0);
  told.insert(kKey);
  EXPECT_THAT(lead(10 * kSecond).ours, ElementsAre(watch(4, 1))) << "told";
}

TEST_F(OwnWatchesTest, what_the_journal_had_at_the_start_stays_where_the_log_has_it_otherwise_until_another_leads) {
  own.begin_with({watch(7, 2), watch(0, 0, "ORVA")});
  log_has(watch(5, 2));
  EXPECT_THAT(own.take_over({}, 0), IsEmpty());
  EXPECT_EQ(*own.find(kKey), watch(7, 2));
  EXPECT_EQ(own.find({"ORVA", kKey.second}), nullptr) << "nothing happened to it";
  EXPECT_THAT(lead(0).ours, ElementsAre(watch(7, 2)));
}

TEST_F(OwnWatchesTest, what_was_put_aside_is_taken_over_unless_something_newer_waits_or_is_owed) {
  log_has(watch(5, 1));
  own.put_aside(kKey);
  EXPECT_THAT(own.take_over_aside(all_wait), IsEmpty());
  EXPECT_FALSE(own.has_aside());
  own.put_aside(kKey);
  own.note(watch(6), 0);
  EXPECT_THAT(own.take_over_aside(nothing_waits), IsEmpty()) << "the engine has heard more";
  own.put_aside(kKey);
  own.note(watch(4), 0);
  EXPECT_THAT(own.take_over_aside(nothing_waits), ElementsAre(watch(5, 1)));
  SharedOperation refused;
  refused.watches = {watch(6)};
  owed.give_back(refused);
  own.put_aside(kKey);
  EXPECT_THAT(own.take_over_aside(nothing_waits), IsEmpty()) << "owed to the log";
}

TEST_F(OwnWatchesTest, it_knows_what_the_log_or_the_engine_has_heard) {
  EXPECT_FALSE(own.knows(watch(5)));
  log_has(watch(5));
  EXPECT_TRUE(own.knows(watch(5)));
  EXPECT_FALSE(own.knows(watch(6)));
  own.note(watch(6), 0);
  EXPECT_TRUE(own.knows(watch(6)));
}

}  // namespace
}  // namespace brimwatch
