// Past days that come into force in the middle of a day change nothing else: not what was heard, not what people have
// answered. And what comes in one piece from two days is of two days.
#include "house_rig.h"

namespace brimwatch::simulation {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

struct RenewedPast : HouseRig {
  void change(HouseWorld& world) override {
    world.prepare = [this](Settings settings, std::function<void(ReadyDesk)> then) {
      ++laid_out;
      prepared.emplace_back([settings = std::move(settings), then = std::move(then)]() mutable {
        then({{}, Desk::prepare(std::move(settings)), 0});
      });
    };
  }
  void go_on() {
    for (const auto& one : std::exchange(prepared, {})) one();
    pass(kSecond);
  }
  void add(const char* symbol, const char* pivot) {
    AnswerRequest request{.kind = AnswerKind::add, .symbol = symbol, .pivot = pivot};
    request.who = "test";
    house->answer(request, [this](const Result<AnswerDone>& done) { said = done ? done->words : done.error().text; });
  }
  /// As another thread does it: what is in force is copied, and read anew.
  struct Renewal {
    ReadyDesk ready;
    std::uint64_t of = 0;
  };
  [[nodiscard]] Renewal begin_renewal() const {
    Settings settings = house->desk().settings();
    return {{{}, Desk::prepare(std::move(settings))}, house->applied()};
  }
  bool renew(Renewal renewal) { return house->renew(std::move(renewal.ready), renewal.of); }
  [[nodiscard]] std::vector<std::string> watched() const {
    std::vector<std::string> names;
    for (const WatchRow& row : house->snapshot().watches) names.push_back(row.symbol);
    return names;
  }
  void end_day() {
    time.run_until(*parse_rfc3339("2026-10-14T16:20:00-04:00"));
    pass(kSecond);
  }
  std::vector<std::function<void()>> prepared;
  int laid_out = 0;
  std::string said;
};

TEST_F(RenewedPast, InMidDayKeepsWhereEachWatchStandsAndWhatWasHeard) {
  trade("KLVN", "20.10"), trade("KLVN", "20.10"), pass(kSecond);
  ASSERT_EQ(times_sent("KLVN crossed"), 1U);
  const Snapshot before = house->snapshot();
  ASSERT_TRUE(renew(begin_renewal()));
  const Snapshot after = house->snapshot();
  EXPECT_EQ(after.watches[0].side, before.watches[0].side);
  EXPECT_EQ(after.holes, before.holes);
  trade("KLVN", "20.12"), trade("KLVN", "20.12"), pass(kSecond);
  EXPECT_EQ(times_sent("KLVN crossed"), 1U) << "told once";
  trade("ORRI", "50.10"), trade("ORRI", "50.10"), pass(kSecond);
  EXPECT_EQ(times_sent("ORRI crossed"), 1U);
  end_day();
  const auto& days = keeper.kept.days;
  const auto of_klvn = std::find_if(days.begin(), days.end(), [](const DayRecord& one) { return one.symbol == "KLVN"; });
  ASSERT_NE(of_klvn, days.end());
  EXPECT_EQ(of_klvn->volume, Shares::whole(500)) << "from before and after";
}

TEST_F(RenewedPast, DoesNotTakeBackWhatWasAddedMeanwhile) {
  Renewal older = begin_renewal();
  add("NIVO", "8.00");
  go_on();
  ASSERT_THAT(watched(), ElementsAre("KLVN", "ORRI", "NIVO"));
  EXPECT_FALSE(renew(std::move(older)));
  EXPECT_THAT(watched(), ElementsAre("KLVN", "ORRI", "NIVO"));
  EXPECT_TRUE(renew(begin_renewal()));
  EXPECT_THAT(watched(), ElementsAre("KLVN", "ORRI", "NIVO"));
}

TEST_F(RenewedPast, IsNotReplacedByAListThatWasLaidOutBefore) {
  add("NIVO", "8.00");
  ASSERT_EQ(laid_out, 1);
  ASSERT_TRUE(renew(begin_renewal()));
  go_on();
  EXPECT_EQ(laid_out, 2) << "once more, on the newer days";
  go_on();
  EXPECT_EQ(said, "NIVO 8.00 is watched");
}

TEST_F(RenewedPast, OfALaterReadingThatFailedChangesNothing) {
  Renewal renewal = begin_renewal();
  renewal.ready.parts = fail("bars: cannot be read");
  EXPECT_FALSE(renew(std::move(renewal)));
  EXPECT_THAT(watched(), ElementsAre("KLVN", "ORRI"));
}

/// A source that catches up: trades of each minute of three days, in pieces that end anywhere.
struct DaysInPieces : HouseRig {
  void SetUp() override {
    time.run_until(*parse_rfc3339("2026-10-18T12:00:00-04:00"));
    open();
    house->restore({});
    begin();
    pass(kSecond);
  }
  void change(Settings& settings) override { settings.feeds.back().past_days = "tell"; }

  void add_day(const char* open_at, int minutes = 390) {
    for (int i = 0; i < minutes; ++i) {
      Tick tick;
      tick.symbol = symbols->find("KLVN");
      tick.time = *parse_rfc3339(open_at) + i * kMinute;
      tick.received = time.wall();
      tick.price = *parse_price("19.80");
      tick.size = Shares::whole(100);
      tick.exchange = 'N';
      tick.id = ++last_id;
      tape.push_back(tick);
    }
  }
  void send_in_pieces_of(std::size_t size) {
    for (std::size_t at = 0; at < tape.size(); at += size)
      listener->on_ticks(std::span(tape).subspan(at, std::min(size, tape.size() - at)));
    pass(kSecond);
  }
  std::vector<Tick> tape;
};

TEST_F(DaysInPieces, EachIsHeardWholeWhereverAPieceEnds) {
  add_day("2026-10-13T09:30:00-04:00"), add_day("2026-10-14T09:30:00-04:00"), add_day("2026-10-15T09:30:00-04:00");
  add_day("2026-10-16T09:30:00-04:00", 1);
  send_in_pieces_of(600);  // the second begins in the second day's afternoon
  ASSERT_EQ(keeper.kept.days.size(), 3U);
  for (const DayRecord& day : keeper.kept.days) EXPECT_EQ(day.coverage, 1) << to_string(day.day);
  EXPECT_THAT(keeper.kept.holes, IsEmpty());
}

// The same with a beginning that nobody heard: it is a hole of that day alone.
TEST_F(DaysInPieces, ADayThatIsHeardFromItsMiddleOnHasAHole) {
  add_day("2026-10-13T09:30:00-04:00"), add_day("2026-10-14T11:30:00-04:00", 270), add_day("2026-10-15T09:30:00-04:00");
  add_day("2026-10-16T09:30:00-04:00", 1);
  send_in_pieces_of(600);
  ASSERT_EQ(keeper.kept.days.size(), 3U);
  EXPECT_EQ(keeper.kept.days[0].coverage, 1);
  EXPECT_LT(keeper.kept.days[1].coverage, 0.8);
  EXPECT_EQ(keeper.kept.days[2].coverage, 1);
  ASSERT_EQ(keeper.kept.holes.size(), 1U);
}

}  // namespace
}  // namespace brimwatch::simulation
