// What the feeds' keeper says of time is what a recording says of it, so that a replay finds the same holes.
#include "live/feed_set.h"

#include <gtest/gtest.h>

#include "support/new_york.h"

namespace brimwatch {
namespace {

using test::kMorning;

class Hand final : public Feed {
 public:
  explicit Hand(FeedListener*& listener) : listener_(listener) {}
  void start(FeedListener& listener) override { listener_ = &listener; }
  void stop() override {}
  void subscribe(const std::vector<std::string>&) override {}
  [[nodiscard]] FeedHealth health() const override { return {.state = FeedState::stopped}; }

 private:
  FeedListener*& listener_;
};

struct FeedSetCase : testing::Test {
  FeedSetCase() : set(world(), events()) {
    std::vector<FeedSettings> feeds(1);
    feeds[0].name = "main", feeds[0].kind = "stream";
    auto made = set.make(feeds);
    EXPECT_TRUE(made);
    set.set(feeds, {"KLVN"}, std::move(*made));
  }
  /// Each look at a clock finds it seven microseconds on: the work between two looks takes time.
  FeedSet::World world() {
    return {[this] { return kMorning + (at += 7'000); }, [this] { return at += 7'000; },
            [](LogLevel, std::string_view) {},
            [this](const FeedSettings&) -> Result<std::unique_ptr<Feed>> { return std::make_unique<Hand>(listener); }};
  }
  FeedSet::Events events() {
    FeedSet::Events to;
    to.ticks = [this](std::span<const Tick> ticks) {
      for (const Tick& tick : ticks) {
        if (tick.kind == TickKind::hole) holes.push_back(tick);
      }
    };
    to.event = [](const FeedEvent&) {};
    to.state = [this](std::size_t, Timestamp when, FeedState, std::string_view) { state_at = when; };
    to.frame = [](std::size_t, Timestamp, std::string_view) {};
    return to;
  }
  void frame(Timestamp received, Timestamp traded) {
    listener->on_frame(received, "{}");
    Tick tick;
    tick.symbol = 0;
    tick.time = traded, tick.received = received;
    tick.price = {48'350'000};
    tick.size = Shares::whole(100);
    listener->on_ticks({&tick, 1});
  }

  Nanos at = 0;
  FeedListener* listener = nullptr;
  std::vector<Tick> holes;
  Timestamp state_at;
  FeedSet set;
};

TEST_F(FeedSetCase, AHoleBeginsWithTheLastFrameAsItIsRecorded) {
  listener->on_state(FeedState::up, "connected");
  frame(kMorning + kSecond, kMorning + kSecond - 40'000'000);
  at = 3 * kSecond;
  listener->on_frame(kMorning + 3 * kSecond, "a sign of life");
  listener->on_state(FeedState::down, "connection reset");
  listener->on_state(FeedState::up, "connected");
  frame(kMorning + 9 * kSecond, kMorning + 9 * kSecond - 40'000'000);
  ASSERT_EQ(holes.size(), 1U);
  EXPECT_EQ(holes[0].time, kMorning + 3 * kSecond - 40'000'000) << "the sign of life, as old as its data";
  EXPECT_EQ(holes[0].received, kMorning + 9 * kSecond - 40'000'000);
}

TEST_F(FeedSetCase, AConnectionIsSaidToBreakWhenItWasTakenToBreak) {
  at = 5 * kSecond;
  listener->on_state(FeedState::down, "connection reset");
  EXPECT_EQ(state_at, kMorning + 5 * kSecond + 7'000) << "one look at the clock";
}

}  // namespace
}  // namespace brimwatch
