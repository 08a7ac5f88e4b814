#include "adapters/feeds/intake.h"

#include <gmock/gmock.h>

#include "feeds/rig.h"

namespace brimwatch {
namespace {

using testing::SizeIs;

FeedSettings plain() {
  FeedSettings settings;
  settings.name = "north";
  settings.fields.symbol = "/s";
  settings.fields.price = "/p";
  settings.fields.time = "/t";
  settings.fields.time_format = "s";
  return settings;
}

/// An intake whose clocks the test sets.
struct Bench {
  explicit Bench(double speed) {
    context.wall = [this] { return wall; };
    context.steady = [this] { return steady; };
    FeedSettings settings = plain();
    settings.rehearsal = speed;
    intake.emplace(settings, context, Decoder::make(plain(), rig.symbols).value());
    intake->attach(&rig.listener);
  }
  void pass(double seconds) {
    steady += static_cast<Nanos>(seconds * 1e9);
    wall = wall + static_cast<Nanos>(seconds * 1e9);
  }
  /// The age of the tick of that second, in seconds, as its receipt says.
  double age(std::int64_t second) {
    intake->take(R"({"s":"A","p":1,"t":)" + std::to_string(second) + "}");
    intake->flush();
    const Tick& tick = rig.listener.ticks.back();
    return static_cast<double>(tick.received - tick.time) / 1e9;
  }

  Rig rig;
  FeedContext context = rig.context;
  Timestamp wall{1'800'000'000 * kSecond};
  Nanos steady = 7 * kHour;
  std::optional<Intake> intake;
};

constexpr std::int64_t kDay = 1'792'000'000;  // a second of a day long past

TEST(Intake, ALiveTickIsAsOldAsOurClockSays) {
  Bench bench(0);
  EXPECT_EQ(bench.age(1'799'999'990), 10);
}

TEST(Intake, APastDayThatIsPlayedIsFreshAndLateAsItWouldHaveBeen) {
  Bench bench(1);
  EXPECT_EQ(bench.age(kDay), 0);
  bench.pass(5);
  EXPECT_EQ(bench.age(kDay + 5), 0);
  bench.pass(90);
  EXPECT_EQ(bench.age(kDay + 6), 89);
}

TEST(Intake, APastDayThatIsPlayedFasterAgesFaster) {
  Bench bench(60);
  EXPECT_EQ(bench.age(kDay), 0);
  bench.pass(1);
  EXPECT_EQ(bench.age(kDay + 60), 0);
  bench.pass(0.5);
  EXPECT_EQ(bench.age(kDay + 60), 30);
}

TEST(Intake, OfTheFirstTicksThePlayedDayBeginsWithTheNewest) {
  Bench bench(1);
  bench.intake->take(R"([{"s":"A","p":1,"t":1792000003},{"s":"B","p":1,"t":1792000009},{"s":"A","p":1,"t":1792000008}])");
  bench.intake->flush();
  ASSERT_THAT(bench.rig.listener.ticks, SizeIs(3));
  for (const Tick& tick : bench.rig.listener.ticks) EXPECT_EQ(tick.received.ns, 1'792'000'009 * kSecond);
}

// A wall clock that is set meanwhile must not make data of a played day late.
TEST(Intake, APlayedDayDoesNotFollowOurWallClock) {
  Bench bench(1);
  (void)bench.age(kDay);
  bench.wall = bench.wall + kHour;
  EXPECT_EQ(bench.age(kDay + 1), -1);
}

}  // namespace
}  // namespace brimwatch
