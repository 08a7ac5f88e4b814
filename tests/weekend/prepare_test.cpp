// From files to a list and on to the next list, with invented stocks.
#include "weekend/prepare.h"

#include <gmock/gmock.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <sstream>

#include "planted.h"
#include "weekend/carry.h"
#include "weekend/list.h"
#include "weekend/picture.h"

namespace brimwatch {
namespace {

namespace fs = std::filesystem;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::Not;
using testing_support::plant;
using testing_support::Planted;

std::string csv_of(const std::vector<DailyBar>& bars) {
  std::string out = "Date,Open,High,Low,Close,Adj Close,Volume\n";
  for (const DailyBar& bar : bars) {
    out += to_string(bar.day) + "," + to_string(bar.open) + "," + to_string(bar.high) + "," + to_string(bar.low) + "," +
           to_string(bar.close) + ",1.00," + std::to_string(std::llround(bar.volume)) + "\n";
  }
  return out;
}

class Prepare : public ::testing::Test {
 protected:
  void SetUp() override {
    directory_ = fs::path(::testing::TempDir()) / ("prepare_" + std::to_string(::getpid()) + "_" +
                                                   ::testing::UnitTest::GetInstance()->current_test_info()->name());
    fs::create_directories(directory_);
    input_.places = {directory_.string()};
    input_.keep_bars = true;
  }
  void TearDown() override { fs::remove_all(directory_); }

  void write(const std::string& symbol, const std::string& text) {
    std::ofstream(directory_ / (symbol + ".csv"), std::ios::binary) << text;
  }
  [[nodiscard]] Prepared run(const std::vector<std::string>& keep = {}) const {
    auto out = prepare(input_, keep);
    EXPECT_TRUE(out) << (out ? "" : out.error().text);
    return out ? std::move(*out) : Prepared{};
  }

  fs::path directory_;
  PrepareInput input_;
};

TEST_F(Prepare, finds_a_planted_base_of_each_kind_and_says_where) {
  input_.book.plain_listed = 1;
  for (const BaseKind kind : kAllBaseKinds) {
    const Planted truth = plant(kind, 0.004, 3);
    write("KLVN", csv_of(truth.bars));
    const Prepared out = run();
    ASSERT_EQ(out.candidates.size(), 1U) << to_string(kind);
    const Candidate& one = out.candidates[0];
    EXPECT_EQ(one.facts.kind, kind);
    EXPECT_NEAR(one.facts.pivot.as_double(), truth.peak + 0.10, 0.02 * truth.peak);
    const int top = kind == BaseKind::no_base ? one.base.peak : one.base.start;
    EXPECT_NEAR(top, truth.start, 5) << to_string(kind);  // a neighbouring high may be the rim
  }
}

TEST_F(Prepare, leaves_out_a_stock_that_is_not_traded_any_more) {
  const auto bars = plant(BaseKind::flat_base, 0.004, 3).bars;
  auto later = bars;
  for (DailyBar& bar : later) bar.day = bar.day + 8;
  write("KLVN", csv_of(bars));
  write("ORRI", csv_of(later));
  const Prepared out = run();
  EXPECT_EQ(out.stale, 1);
  ASSERT_EQ(out.candidates.size(), 1U);
  EXPECT_EQ(out.candidates[0].symbol, "ORRI");
}

TEST_F(Prepare, refuses_a_bar_of_a_day_that_is_not_over_and_measures_the_others_by_it_no_more) {
  const auto bars = plant(BaseKind::flat_base, 0.004, 3).bars;
  auto wrong = bars;
  wrong.back().day = wrong.back().day + 3'650;
  write("KLVN", csv_of(bars));
  write("ORRI", csv_of(wrong));
  input_.last_over = bars.back().day;
  const Prepared out = run();
  EXPECT_EQ(out.as_of, bars.back().day);
  EXPECT_EQ(out.stale, 0);
  EXPECT_EQ(out.rows_skipped, 1);
  EXPECT_THAT(out.problems, ElementsAre((directory_ / "ORRI.csv").string() + ":" + std::to_string(bars.size() + 1) +
                                        ":1: date: found " + to_string(wrong.back().day) +
                                        ", expected a session that is over, the last of them " +
                                        to_string(bars.back().day) + "; the row was left out"));
}

TEST_F(Prepare, puts_the_pivot_exactly_ten_cents_above_the_peak) {
  // Common practice: the handle's high plus ten cents.
  write("KLVN", csv_of(plant(BaseKind::cup_with_handle, 0.004, 3).bars));
  const Candidate one = run().candidates.at(0);
  EXPECT_EQ(one.facts.pivot.micros, one.facts.points.at(2).price.micros + 100'000);
}

TEST_F(Prepare, gives_the_same_answer_for_a_file_that_runs_backwards) {
  auto bars = plant(BaseKind::cup_with_handle, 0.006, 5).bars;
  write("KLVN", csv_of(bars));
  const std::string forwards = watch_list(run(), input_.book);
  std::reverse(bars.begin(), bars.end());
  write("KLVN", csv_of(bars));
  EXPECT_EQ(watch_list(run(), input_.book), forwards);
}

// As the daemon's own normal volume (volume/history.h) has it.
TEST_F(Prepare, takes_half_days_for_no_part_of_the_normal_volume) {
  auto bars = plant(BaseKind::cup_with_handle, 0.004, 3).bars;
  for (DailyBar& bar : bars) bar.volume = 1'000'000;
  write("KLVN", csv_of(bars));
  EXPECT_DOUBLE_EQ(run().candidates.at(0).facts.normal_volume, 1'000'000);
  bars[bars.size() - 3].volume = 200'000;
  bars[bars.size() - 52].volume = 26'000'000;  // the fifty-first full day
  write("KLVN", csv_of(bars));
  EXPECT_DOUBLE_EQ(run().candidates.at(0).facts.normal_volume, 984'000) << "not known to be a half day";
  input_.half_days = {bars[bars.size() - 3].day};
  EXPECT_DOUBLE_EQ(run().candidates.at(0).facts.normal_volume, 1'000'000);
  bars[bars.size() - 51].volume = 6'000'000;  // the fiftieth in its place
  write("KLVN", csv_of(bars));
  EXPECT_DOUBLE_EQ(run().candidates.at(0).facts.normal_volume, 1'100'000);
}

TEST_F(Prepare, finds_the_same_base_through_a_split_that_the_events_file_tells) {
  const auto bars = plant(BaseKind::cup_with_handle, 0.004, 3).bars;
  write("KLVN", csv_of(bars));
  const Candidate plain = run().candidates.at(0);
  // The same history as it was quoted before a 2:1 split on the fortieth day from the end.
  auto raw = bars;
  const std::size_t split = raw.size() - 40;
  for (std::size_t i = 0; i < split; ++i) {
    for (Price* price : {&raw[i].open, &raw[i].high, &raw[i].low, &raw[i].close}) price->micros *= 2;
    raw[i].volume /= 2;
  }
  write("KLVN", csv_of(raw));
  input_.events["KLVN"] = {{raw[split].day, 2, {}}};
  const Candidate split_told = run().candidates.at(0);
  EXPECT_EQ(split_told.base, plain.base);
  EXPECT_EQ(split_told.facts.pivot, plain.facts.pivot);
  EXPECT_NEAR(split_told.facts.normal_volume, plain.facts.normal_volume, 1);
  EXPECT_EQ(split_told.adjusted, "2:1 split on " + to_string(raw[split].day));
  // Data that had been adjusted already is left alone.
  write("KLVN", csv_of(bars));
  EXPECT_EQ(run().candidates.at(0).facts.pivot, plain.facts.pivot);
  EXPECT_EQ(run().candidates.at(0).adjusted, "");
}

TEST_F(Prepare, computes_and_checks_the_dates_that_a_user_names) {
  const Planted truth = plant(BaseKind::cup_with_handle, 0.004, 3);
  write("KLVN", csv_of(truth.bars));
  const Candidate found = run().candidates.at(0);
  input_.named = NamedPoints{"KLVN", found.facts.points[0].day, found.facts.points[2].day};
  const Candidate named = run().candidates.at(0);
  EXPECT_EQ(named.base, found.base);
  EXPECT_EQ(named.judgement.explained, found.judgement.explained);
}

TEST_F(Prepare, tells_a_file_it_cannot_read_and_goes_on) {
  write("KLVN", csv_of(plant(BaseKind::flat_base, 0.004, 3).bars));
  write("BAD", "date,open,high\n2026-01-02,1,2\n");
  const Prepared out = run();
  EXPECT_EQ(out.unreadable, 1);
  EXPECT_THAT(out.problems, ElementsAre(HasSubstr("BAD.csv:1:1: no column \"low\"")));
  EXPECT_EQ(out.candidates.size(), 1U);
}

TEST_F(Prepare, marks_a_watch_whose_report_is_near) {
  const auto bars = plant(BaseKind::flat_base, 0.004, 3).bars;
  write("KLVN", csv_of(bars));
  input_.reports["KLVN"] = {bars.back().day + 8};
  EXPECT_THAT(note_of(run().candidates.at(0)), HasSubstr("reports " + to_string(bars.back().day + 8) + ", in 8 days"));
}

TEST_F(Prepare, draws_a_picture_with_every_point_and_no_text_that_breaks_it) {
  write("A&B", csv_of(plant(BaseKind::cup_with_handle, 0.004, 3).bars));
  const std::string picture = base_picture(run().candidates.at(0), 5);
  for (const char* word : {"rim", "bottom", "handle high", "handle low", "pivot", "A&amp;B"})
    EXPECT_THAT(picture, HasSubstr(word));
  EXPECT_THAT(picture, Not(HasSubstr("A&B")));
  EXPECT_THAT(picture, Not(HasSubstr("nan")));
}

class Carry : public Prepare {
 protected:
  /// The list of `days_ago` sessions before the end carried to the end.
  Carried carried(const std::string& old) {
    const auto symbols = symbols_of(old, "old.toml");
    EXPECT_TRUE(symbols) << (symbols ? "" : symbols.error().text);
    auto out = carry(old, "old.toml", run(*symbols), input_);
    EXPECT_TRUE(out) << (out ? "" : out.error().text);
    return out ? std::move(*out) : Carried{};
  }
  std::string list_then(Date day) {
    input_.as_of = day;
    const std::string out = watch_list(run(), input_.book);
    input_.as_of.reset();
    return out;
  }
};

TEST_F(Carry, keeps_the_users_words_keys_and_comments_when_a_base_goes_on) {
  const auto bars = plant(BaseKind::flat_base, 0.004, 3).bars;
  write("KLVN", csv_of(bars));
  std::string old = list_then(bars[bars.size() - 3].day);
  old.replace(old.find("]\"\n"), 3, "] half a position\"  # mine\nsurge = 55\n");
  const Carried out = carried(old);
  ASSERT_EQ(out.changes.size(), 1U);
  EXPECT_EQ(out.changes[0].fate, Fate::renewed) << out.changes[0].reason;
  EXPECT_THAT(out.list, HasSubstr("] half a position\"  # mine\nsurge = 55\n"));
  EXPECT_THAT(out.list, HasSubstr("as of " + to_string(bars.back().day)));
  EXPECT_THAT(out.list, Not(HasSubstr("as of " + to_string(bars[bars.size() - 3].day))));
  EXPECT_EQ(carried(out.list).list, out.list) << "a second pass changes nothing";
}

TEST_F(Carry, tells_why_a_watch_is_taken_off_and_keeps_the_users_note) {
  auto bars = plant(BaseKind::flat_base, 0.004, 3).bars;
  write("KLVN", csv_of(bars));
  std::string old = list_then(bars.back().day);
  old.replace(old.find("]\"\n"), 3, "] my words\"\n");
  for (int i = 0; i < 5; ++i) {  // falls out of the base, never having touched the pivot
    DailyBar next = bars.back();
    next.day = next.day + 1;
    for (Price* price : {&next.open, &next.high, &next.low, &next.close}) price->micros = price->micros * 93 / 100;
    bars.push_back(next);
  }
  write("KLVN", csv_of(bars));
  const Carried out = carried(old);
  EXPECT_EQ(out.changes.at(0).fate, Fate::broke);
  EXPECT_THAT(out.changes[0].reason, HasSubstr("under the base's floor of"));
  EXPECT_THAT(out.list, Not(HasSubstr("[[watch]]")));
  EXPECT_THAT(out.list, HasSubstr("your note: my words"));
}

TEST_F(Carry, moves_a_pivot_with_the_base_and_says_why) {
  const auto bars = plant(BaseKind::flat_base, 0.004, 3).bars;
  write("KLVN", csv_of(bars));
  std::string old = list_then(bars[bars.size() - 3].day);
  const std::size_t at = old.find("pivot = ") + 8;
  const std::string right = old.substr(at, old.find('\n', at) - at);
  old.replace(at, right.size(), "99.00");
  old.replace(old.find("]\"\n"), 3, "] my words\"\n");
  const Carried out = carried(old);
  EXPECT_EQ(out.changes.at(0).fate, Fate::moved);
  EXPECT_EQ(to_string(out.changes[0].before), "99.00");
  EXPECT_EQ(to_string(out.changes[0].after), right);
  EXPECT_THAT(out.changes[0].reason, HasSubstr("flat base with its high at"));
  EXPECT_THAT(out.list, HasSubstr("pivot = " + right));
  EXPECT_THAT(out.list, HasSubstr("] my words\""));
  EXPECT_THAT(in_words(out.changes), HasSubstr("moved    KLVN     99.00 -> " + right));
}

TEST_F(Carry, lets_a_watch_that_crossed_go_on_until_its_last_day) {
  auto bars = plant(BaseKind::flat_base, 0.004, 3).bars;
  write("KLVN", csv_of(bars));
  std::string old = list_then(bars.back().day);
  old.replace(old.find("]\"\n"), 3, "] my words\"\n");
  const Price pivot = run().candidates.at(0).facts.pivot;
  for (int i = 0; i < 3; ++i) {
    DailyBar next = bars.back();
    next.day = next.day + 1;
    next.open = next.low = next.close = pivot;
    next.high = Price{pivot.micros + 500'000};
    bars.push_back(next);
  }
  write("KLVN", csv_of(bars));
  const Carried out = carried(old);
  EXPECT_EQ(out.changes.at(0).fate, Fate::crossed);
  EXPECT_THAT(out.changes[0].reason, HasSubstr("traded at the pivot on " + to_string(bars[bars.size() - 3].day)));
  EXPECT_THAT(out.list, HasSubstr("] my words\""));
  bars.back().day = bars.back().day + 100;
  write("KLVN", csv_of(bars));
  const Carried later = carried(old);
  EXPECT_EQ(later.changes.at(0).fate, Fate::expired);
  EXPECT_THAT(later.changes[0].reason, HasSubstr("; its last day was "));
  EXPECT_THAT(later.list, HasSubstr("your note: my words"));
}

TEST_F(Carry, takes_off_what_expired_without_a_base) {
  const auto bars = plant(BaseKind::flat_base, 0.004, 3).bars;
  write("KLVN", csv_of(bars));
  input_.book.keep_days = 1;
  const Date then = bars[bars.size() - 5].day;
  const std::string old = list_then(then);
  input_.book.broken_most = 0;
  input_.book.quiet_most = 1;  // no base keeps that
  const Carried out = carried(old);
  EXPECT_EQ(out.changes.at(0).fate, Fate::expired) << out.changes[0].reason;
  EXPECT_EQ(out.changes[0].reason, "its last day was " + to_string(then + 1) + " and no base is found any more");
  EXPECT_THAT(out.list, Not(HasSubstr("[[watch]]")));
}

TEST_F(Carry, brings_an_old_pivot_to_the_terms_of_a_split) {
  const auto bars = plant(BaseKind::flat_base, 0.004, 3).bars;
  write("KLVN", csv_of(bars));
  const Date then = bars[bars.size() - 10].day;
  input_.events["KLVN"] = {{bars[bars.size() - 5].day, 2, {}}};
  const Carried out =
      carried("[[watch]]\nsymbol = \"KLVN\"\npivot = 120.10\nnormal_volume = 500000\nfrom = " + to_string(then) + "\n");
  EXPECT_EQ(out.changes.at(0).fate, Fate::moved);
  EXPECT_THAT(out.list, HasSubstr("pivot = 60.05"));
  EXPECT_THAT(out.list, HasSubstr("normal_volume = 1000000"));
}

/// The bars as they were quoted before a 2:1 split on day `split`.
std::vector<DailyBar> before_split(std::vector<DailyBar> bars, std::size_t split) {
  for (std::size_t i = 0; i < split; ++i) {
    for (Price* price : {&bars[i].open, &bars[i].high, &bars[i].low, &bars[i].close}) price->micros *= 2;
    bars[i].volume /= 2;
  }
  return bars;
}

/// The same text with a column in which the file itself tells a split.
std::string with_split_column(const std::string& csv, Date day, const std::string& ratio) {
  std::string out;
  std::istringstream lines(csv);
  for (std::string line; std::getline(lines, line);) {
    const bool head = out.empty();
    out += line + "," + (head ? "Split Ratio" : line.starts_with(to_string(day)) ? ratio : "1") + "\n";
  }
  return out;
}

TEST_F(Carry, does_not_take_a_split_that_the_daily_file_tells_for_a_fall_out_of_the_base) {
  const auto bars = plant(BaseKind::flat_base, 0.004, 3).bars;
  const std::size_t split = bars.size() - 2;
  const std::string raw = csv_of(before_split(bars, split));
  write("KLVN", raw);
  const std::string old = list_then(bars[split - 1].day);
  input_.events["KLVN"] = {{bars[split].day, 2, {}}};
  const Carried by_events = carried(old);
  ASSERT_EQ(by_events.changes.at(0).fate, Fate::moved);
  EXPECT_THAT(by_events.changes[0].reason, HasSubstr("2:1 split on " + to_string(bars[split].day)));
  write("KLVN", with_split_column(raw, bars[split].day, "2.0"));
  EXPECT_EQ(carried(old).list, by_events.list) << "told by both";
  input_.events.clear();
  const Carried by_file = carried(old);
  EXPECT_EQ(by_file.changes.at(0).fate, Fate::moved) << by_file.changes.at(0).reason;
  EXPECT_EQ(by_file.changes[0].reason, by_events.changes[0].reason);
  EXPECT_EQ(by_file.list, by_events.list);
}

TEST_F(Carry, takes_a_split_that_file_and_events_tell_with_rounded_ratios_for_one) {
  const auto bars = plant(BaseKind::flat_base, 0.004, 3).bars;
  const Date then = bars[bars.size() - 10].day, day = bars[bars.size() - 5].day;
  write("KLVN", with_split_column(csv_of(bars), day, "0.3333"));
  input_.events["KLVN"] = {{day, 1.0 / 3, {}}};
  const Carried out = carried("[[watch]]\nsymbol = \"KLVN\"\npivot = 40.00\nfrom = " + to_string(then) + "\n");
  EXPECT_THAT(out.list, HasSubstr("pivot = 120.00"));
}

TEST_F(Carry, brings_a_pivot_to_the_terms_of_a_split_once_however_often_the_list_is_carried) {
  const auto bars = plant(BaseKind::flat_base, 0.004, 3).bars;
  write("KLVN", csv_of(bars));
  const Date then = bars[bars.size() - 10].day, day = bars[bars.size() - 5].day;
  write("KLVN", with_split_column(csv_of(bars), day, "2"));
  const std::string own = "[[watch]]\nsymbol = \"KLVN\"\npivot = 120.10\nfrom = " + to_string(then) + "\n";
  const std::string ours = own + "#| flat base as of " + to_string(then) + "; pivot far off\n#|   floor 2.00 (low)\n";
  for (const std::string& old : {own, ours, "[rules]\nsurge = 50\n\n" + ours + "\n# mine\n\n" + own + "\n\n"}) {
    input_.book.broken_most = 0;  // no base is found any more: our watch is kept as it is
    input_.book.quiet_most = 1;
    const Carried once = carried(old);
    EXPECT_THAT(once.list, HasSubstr("pivot = 60.05"));
    const Carried twice = carried(once.list);
    EXPECT_EQ(twice.list, once.list);
    for (const Change& change : twice.changes) EXPECT_EQ(change.fate, Fate::kept) << change.reason;
  }
}

TEST_F(Carry, brings_a_pivot_to_the_terms_of_each_split_that_comes_later) {
  const auto bars = plant(BaseKind::flat_base, 0.004, 3).bars;
  write("KLVN", csv_of(bars));
  const auto day = [&](std::size_t from_end) { return bars[bars.size() - from_end].day; };
  input_.events["KLVN"] = {{day(6), 2, {}}, {day(2), 2, {}}};
  input_.as_of = day(4);
  const Carried first = carried("[[watch]]\nsymbol = \"KLVN\"\npivot = 240.20\nfrom = " + to_string(day(10)) + "\n");
  EXPECT_THAT(first.list, HasSubstr("pivot = 120.10"));
  input_.as_of.reset();
  const Carried second = carried(first.list);
  EXPECT_THAT(second.list, HasSubstr("pivot = 60.05"));
  EXPECT_THAT(second.list, Not(HasSubstr("terms of " + to_string(day(4))))) << "the newest terms only";
}

TEST_F(Carry, leaves_a_watch_of_the_users_own_and_other_tables_byte_for_byte) {
  write("KLVN", csv_of(testing_support::random_walk(200, 0.02, 9)));
  const std::string own =
      "# mine\n[[watch]]\nsymbol = \"ZZZZ\"\npeak = 12.3  # high\n\n[[watch]]\nsymbol = \"KLVN\"\npivot=99999.0\nnote = "
      "'a # b'\n\n[rules]\nsurge = 50\n";
  const Carried out = carried(own);
  EXPECT_THAT(out.list, HasSubstr(own.substr(0, own.find("\n[rules]"))));
  EXPECT_THAT(out.list, HasSubstr("[rules]\nsurge = 50\n"));
  EXPECT_EQ(out.changes.at(0).fate, Fate::unknown);
  EXPECT_EQ(out.changes.at(1).fate, Fate::kept);
}

}  // namespace
}  // namespace brimwatch
