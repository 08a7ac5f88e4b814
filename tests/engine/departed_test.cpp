// Watches that leave the list and come back: by answers, or by a file that is read again.
#include "engine/departed.h"

#include <gmock/gmock.h>

#include <set>

#include "small_engine.h"

namespace brimwatch {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

class DepartedWatch : public SmallEngine {
 protected:
  /// KLVN's stays: what is heard of a stock is heard.
  void watch_both(bool also_fifty) {
    watches_.clear();
    watch("KLVN", "60");
    if (also_fifty) watch("KLVN", "50").rules.confirm_seconds = confirm_seconds_;
    begin();
  }
  void start() {
    watch_both(true);
    give(trade("49.50"));
    give(trade("50.10"));
  }
  [[nodiscard]] std::vector<std::string> told() const {
    std::vector<std::string> out;
    for (const Notice& one : sink_.notices)
      out.push_back(std::string(to_string(one.kind)) + " " + std::to_string(one.count));
    return out;
  }

  std::uint16_t confirm_seconds_ = 0;
};

TEST_F(DepartedWatch, ComesBackWhereItStoodAndTellsNothingTwice) {
  start();
  watch_both(false);
  give(trade("50.20"));
  watch_both(true);
  EXPECT_EQ(view(1).side, Side::inside);
  give(trade("50.30"));
  EXPECT_THAT(told(), ElementsAre("crossed 1"));
}

// A notice whose id is in the journal already is none: it would be told to nobody.
TEST_F(DepartedWatch, CountsOnSoThatNoIdComesTwice) {
  start();
  watch_both(false);
  watch_both(true);
  for (const char* price : {"47.50", "47.50", "50.10", "50.10"}) give(trade(price));
  EXPECT_THAT(told(), ElementsAre("crossed 1", "fell-under 1", "crossed 2"));
}

TEST_F(DepartedWatch, FallsUnderWhatItStoodAtBeforeThoughNobodyLooked) {
  start();
  watch_both(false);
  give(trade("47.50")), give(trade("47.40"));
  watch_both(true);
  give(trade("47.45"));
  EXPECT_THAT(told(), ElementsAre("crossed 1", "fell-under 1"));
}

// It was over the pivot when it left, and is so when it comes back: nobody looked whether it stayed.
TEST_F(DepartedWatch, BeginsItsConfirmationAnew) {
  confirm_seconds_ = 10;
  start();
  watch_both(false);
  give(trade("49.90")), give(trade("50.20"));
  watch_both(true);
  seconds_ += 8;
  give(trade("50.20"));
  engine_->on_time(at((seconds_ + 5) * kSecond), sink_);
  EXPECT_THAT(told(), IsEmpty()) << "five seconds over the pivot";
  engine_->on_time(at((seconds_ + 20) * kSecond), sink_);
  EXPECT_THAT(told(), ElementsAre("crossed 1"));
}

TEST_F(DepartedWatch, IsNotMutedWhenItComesBack) {
  start();
  ASSERT_TRUE(engine_->mute("KLVN", *parse_price("50"), at(5 * kHour), true));
  watch_both(false);
  watch_both(true);
  EXPECT_FALSE(view(1).muted_until.is_set());
  EXPECT_FALSE(view(1).muted_under);
}

TEST_F(DepartedWatch, OfYesterdayBeginsAnew) {
  start();
  watch_both(false);
  Tick next = trade("50.20");
  next.time = calendar_->at_or_after(session().close + kHour)->open + kMinute;
  give(next);
  watch_both(true);
  EXPECT_EQ(view(1).side, Side::unknown);
}

TEST_F(DepartedWatch, IsHandedOutWithWhatItHadLast) {
  start();
  watch_both(false);
  std::vector<WatchState> changed;
  std::vector<SymbolState> symbols;
  engine_->take_changed(changed, symbols);
  const auto is_it = [](const WatchState& one) { return one.pivot == *parse_price("50"); };
  ASSERT_EQ(std::count_if(changed.begin(), changed.end(), is_it), 1);
  EXPECT_EQ(std::find_if(changed.begin(), changed.end(), is_it)->count_of(NoticeKind::crossed), 1);
  changed.clear();
  engine_->take_changed(changed, symbols);
  EXPECT_THAT(changed, IsEmpty());
}

TEST_F(DepartedWatch, ComesBackAfterARestartToo) {
  start();
  const auto watches = engine_->watch_states();
  const auto states = engine_->symbol_states();
  engine_ = make_engine();
  watch_both(false);
  engine_->restore(watches, states);
  watch_both(true);
  EXPECT_EQ(view(1).side, Side::inside);
  for (const char* price : {"47.50", "47.50", "50.10", "50.10"}) give(trade(price));
  EXPECT_THAT(told(), ElementsAre("crossed 1", "fell-under 1", "crossed 2"));
}

TEST(Departed, KeepsBeyondItsBoundOnlyWhatHasTold) {
  Departed departed;
  WatchState state;
  state.day = Date::of(2026, 11, 25);
  state.symbol = "KLVN";
  for (std::int64_t i = 1; i <= static_cast<std::int64_t>(Departed::kMost) + 5; ++i) {
    state.pivot = Price{i};
    departed.leave(state, false);
  }
  state.counts[0] = 1;
  state.pivot = Price{-1};
  departed.leave(state, false);
  std::vector<WatchState> all;
  departed.add_all(all);
  EXPECT_EQ(all.size(), Departed::kMost + 1);
}

}  // namespace
}  // namespace brimwatch
