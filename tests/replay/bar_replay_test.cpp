// Minute bars as ticks: what is known when, and what becomes of a crossing.
#include "replay/bar_replay.h"

#include <gmock/gmock.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "journal/journal.h"
#include "replay/rules_replay.h"

namespace brimwatch {
namespace {

namespace fs = std::filesystem;
using ::testing::ElementsAre;
using ::testing::HasSubstr;

constexpr Date kWednesday = Date::of(2026, 11, 25);

class BarReplayTest : public ::testing::Test {
 protected:
  void SetUp() override {
    folder_ = fs::path(::testing::TempDir()) / ("bars_" + std::to_string(::getpid()) + "_" +
                                                ::testing::UnitTest::GetInstance()->current_test_info()->name());
    fs::create_directories(folder_);
    symbols_.intern("KLVN");
    symbols_.intern("ORRI");
  }
  void TearDown() override { fs::remove_all(folder_); }

  std::string write(const std::string& name, const std::string& text) {
    std::ofstream(folder_ / name) << text;
    return (folder_ / name).string();
  }
  std::vector<Tick> ticks_of(const std::vector<std::string>& paths, const BarReplayOptions& options = {}) {
    auto replay = BarReplay::open(paths, options, *calendar_, symbols_);
    EXPECT_TRUE(replay) << (replay ? "" : replay.error().text);
    std::vector<Tick> out;
    if (!replay) return out;
    while (true) {
      const auto some = (*replay)->next();
      if (some->empty()) break;
      out.insert(out.end(), some->begin(), some->end());
    }
    remarks_ = (*replay)->remarks();
    return out;
  }
  /// "09:31:00.000000001 50.00 49.90 50.20 1000" : local time, close, low, high, volume.
  std::string line(const Tick& tick) const {
    return std::string(symbols_.name(tick.symbol)) + " " + to_rfc3339(tick.time, std::chrono::hours(-5)).substr(11, 18) +
           " " + to_string(tick.price) + " " + to_string(tick.bid) + " " + to_string(tick.ask) + " " +
           format_micros(tick.size.micros, 0);
  }
  std::vector<std::string> lines(const std::vector<Tick>& ticks) const {
    std::vector<std::string> out;
    for (const Tick& tick : ticks) out.push_back(line(tick));
    return out;
  }

  fs::path folder_;
  SymbolTable symbols_;
  std::shared_ptr<const Calendar> calendar_ = *Calendar::load("XNYS", {});
  std::vector<std::string> remarks_;
};

TEST_F(BarReplayTest, gives_the_open_at_the_beginning_and_the_rest_when_the_bar_is_over) {
  const auto path = write("KLVN.csv",
                          "date,time,open,high,low,close,volume\n2026-11-25,09:30,50,50.3,49.9,50.2,1000\n"
                          "2026-11-25,09:31,50.2,50.5,50.1,50.4,2000\n");
  const auto ticks = ticks_of({path});
  ASSERT_EQ(ticks.size(), 4U);
  for (const Tick& tick : ticks) EXPECT_EQ(tick.kind, TickKind::bar);
  EXPECT_EQ(ticks[0].size, Shares{}) << "the volume is not known before the bar is over";
  EXPECT_EQ(ticks[0].price, Price{50'000'000});
  EXPECT_EQ(ticks[1].time, calendar_->on(kWednesday)->open + kMinute);
  EXPECT_EQ(ticks[1].size, Shares::whole(1000));
  EXPECT_EQ(ticks[1].bid, Price{49'900'000});
  EXPECT_EQ(ticks[1].ask, Price{50'300'000});
  EXPECT_LT(ticks[1].time, ticks[2].time) << "a bar is over before the next one opens";
}

TEST_F(BarReplayTest, merges_files_of_several_symbols_by_time_whatever_their_order) {
  const auto one = write(
      "KLVN.csv", "datetime,open,high,low,close,volume\n2026-11-25 09:31,2,2,2,2,20\n2026-11-25 09:30,1,1,1,1,10\n");
  const auto two = write("ORRI_2026-11.csv", "datetime,close,volume\n2026-11-25 09:30,7,70\n");
  const auto ticks = ticks_of({two, one});
  EXPECT_TRUE(std::is_sorted(ticks.begin(), ticks.end(), [](const Tick& a, const Tick& b) { return a.time < b.time; }));
  EXPECT_EQ(ticks.size(), 5U) << "a file without opens gives one tick a bar";
}

TEST_F(BarReplayTest, knows_bars_stamped_by_their_end_and_times_in_utc) {
  const auto start = write("KLVN.csv", "datetime,open,high,low,close,volume\n2026-11-25 09:30,1,1,1,1,10\n");
  const auto plain = lines(ticks_of({start}));
  BarReplayOptions ends;
  ends.stamped_end = true;
  EXPECT_EQ(
      lines(ticks_of({write("KLVN.csv", "datetime,open,high,low,close,volume\n2026-11-25 09:31,1,1,1,1,10\n")}, ends)),
      plain);
  BarReplayOptions utc;
  utc.utc = true;
  EXPECT_EQ(
      lines(ticks_of({write("KLVN.csv", "datetime,open,high,low,close,volume\n2026-11-25 14:30,1,1,1,1,10\n")}, utc)),
      plain);
}

TEST_F(BarReplayTest, keeps_the_closing_auction_and_hours_that_begin_before_the_open_in_the_session) {
  const auto hours = ticks_of({write("KLVN.csv",
                                     "datetime,open,high,low,close,volume\n2026-11-25 09:00,1,1,1,1,10\n"
                                     "2026-11-25 10:00,2,2,2,2,20\n2026-11-25 15:00,3,3,3,3,30\n")});
  EXPECT_EQ(hours.front().time, calendar_->on(kWednesday)->open + 1);
  EXPECT_EQ(hours.back().time, calendar_->on(kWednesday)->close);
  EXPECT_THAT(remarks_, ElementsAre(HasSubstr("bars of 60 minutes: moment and price of a crossing are known no better")));
  const auto minutes = ticks_of({write("KLVN.csv",
                                       "datetime,open,high,low,close,volume\n2026-11-25 15:58,1,1,1,1,10\n"
                                       "2026-11-25 15:59,1,1,1,1,20\n2026-11-25 16:00,1,1,1,1,500\n")});
  ASSERT_EQ(minutes.size(), 5U);
  EXPECT_EQ(minutes.back().time, calendar_->on(kWednesday)->close);
  EXPECT_EQ(minutes.back().size, Shares::whole(500));
}

TEST_F(BarReplayTest, says_what_it_left_out) {
  const auto path = write("panel.csv",
                          "datetime,symbol,close,volume\n2026-11-25 09:30,KLVN,1,10\n2026-11-25 09:30,KLVN,1,11\n"
                          "2026-11-26 09:30,KLVN,1,10\n2026-11-25 09:30,NOBODY,1,10\n2026-11-25 09:31,KLVN,x,10\n");
  EXPECT_EQ(ticks_of({path}).size(), 1U);
  EXPECT_THAT(remarks_, ElementsAre(HasSubstr("panel.csv:6:23: found \"x\", expected a price above 0"),
                                    HasSubstr("1 rows are of symbols that nobody watches"),
                                    HasSubstr("1 rows are of days without a session"), HasSubstr("1 rows repeat a bar")));
}

TEST_F(BarReplayTest, refuses_bars_without_prices_or_dates) {
  const auto fails_with = [&](const std::string& text) {
    const auto out = BarReplay::open({write("KLVN.csv", text)}, {}, *calendar_, symbols_);
    return out ? "" : out.error().text;
  };
  EXPECT_THAT(fails_with("datetime,volume\n2026-11-25 09:30,10\n"), HasSubstr("KLVN.csv:1:1: header: found"));
  EXPECT_THAT(fails_with("date,bin_start,close,volume\nday1,09:30,1,10\n"), HasSubstr("its days have no dates"));
}

TEST_F(BarReplayTest, tells_bars_from_tapes_by_their_header) {
  EXPECT_TRUE(looks_like_bars("date,time,open,high,low,close,volume\n"));
  EXPECT_TRUE(looks_like_bars("20110103 143100;125.7;125.8;125.6;125.7;1000\n"));
  EXPECT_FALSE(looks_like_bars("time,symbol,price,size,conditions\n"));
  EXPECT_FALSE(looks_like_bars("time,symbol,kind,price,size,day_volume\n"));
  EXPECT_FALSE(looks_like_bars(""));
}

class RulesReplay : public BarReplayTest {
 protected:
  /// A day of minutes at 48 that rises through the pivot of 50 in the minute of 10:00 and closes it at 50.20.
  std::string rising_day() {
    std::string text = "datetime,open,high,low,close,volume\n";
    for (int minute = 0; minute < 390; ++minute) {
      char row[120];
      const bool before = minute < 30, at = minute == 30;
      std::snprintf(row, sizeof row, "2026-11-25 %02d:%02d,%s,%s,%s,%s,10000\n", (570 + minute) / 60, (570 + minute) % 60,
                    before ? "49"
                    : at   ? "49.5"
                           : "50.2",
                    before ? "49.5" : "50.25",
                    before ? "49"
                    : at   ? "49.4"
                           : "50.1",
                    before ? "49.5" : "50.2");
      text += row;
    }
    return write("KLVN.csv", text);
  }
  Settings settings(double surge) {
    Settings out;
    Watch watch;
    watch.symbol = "KLVN";
    watch.pivot = Price{50'000'000};
    watch.normal_volume = Shares::whole(3'000'000);
    watch.rules.surge = static_cast<std::int32_t>(surge * 1e6);
    set_levels(watch);
    out.watches = {watch};
    return out;
  }
};

TEST_F(RulesReplay, tells_a_crossing_inside_a_bar_at_its_end_and_at_its_high_with_the_volume_till_then) {
  auto folder = TemporaryFolder::make();
  ASSERT_TRUE(folder);
  const auto done = replay_rules(settings(20), {.tapes = {rising_day()}}, *folder, 0);
  ASSERT_TRUE(done) << done.error().text;
  EXPECT_EQ(done->summary.days, 1);
  EXPECT_EQ(done->summary.first_day, kWednesday);
  auto journal = Journal::open_read_only(done->journal);
  ASSERT_TRUE(journal);
  const auto notices = (*journal)->notices({});
  ASSERT_TRUE(notices);
  ASSERT_FALSE(notices->empty());
  const Notice& first = notices->front().notice;
  EXPECT_EQ(first.kind, NoticeKind::crossed);
  EXPECT_EQ(first.price, Price{50'250'000}) << "the bar's high";
  EXPECT_EQ(first.time, calendar_->on(kWednesday)->open + 31 * kMinute - 1);
  EXPECT_EQ(first.volume.so_far, Shares::whole(310'000));
  EXPECT_EQ(first.volume.needed, 20);
  const auto days = (*journal)->days("KLVN", kWednesday + 1, 5);
  ASSERT_TRUE(days);
  ASSERT_EQ(days->size(), 1U);
  EXPECT_EQ(days->front().volume, Shares::whole(3'900'000)) << "the whole day's volume, for the review";
}

TEST_F(RulesReplay, leaves_nothing_behind) {
  std::string where;
  {
    auto folder = TemporaryFolder::make();
    where = folder->path();
    ASSERT_TRUE(replay_rules(settings(20), {.tapes = {rising_day()}}, *folder, 0));
    EXPECT_TRUE(fs::exists(where));
  }
  EXPECT_FALSE(fs::exists(where));
}

TEST_F(RulesReplay, finds_recordings_in_a_folder_by_name) {
  write("b.csv", "x"), write("a.csv.zst", "x"), write("notes.md", "x");
  const auto found = tapes_in({folder_.string()});
  ASSERT_TRUE(found);
  EXPECT_THAT(*found, ElementsAre(HasSubstr("a.csv.zst"), HasSubstr("b.csv")));
  fs::create_directories(folder_ / "empty");
  EXPECT_THAT(tapes_in({(folder_ / "empty").string()}).error().text, HasSubstr("found no tapes or bars in it"));
}

}  // namespace
}  // namespace brimwatch
