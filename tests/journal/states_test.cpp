#include <gmock/gmock.h>

#include "journal/state_body.h"
#include "journal/state_days.h"
#include "sample.h"

namespace brimwatch {
namespace {

using sample::kDay;
using sample::must;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

JournalBatch states(std::vector<WatchState> watches, std::vector<SymbolState> symbols = {}) {
  JournalBatch batch;
  batch.watches = std::move(watches), batch.symbols = std::move(symbols);
  return batch;
}

TEST(States, ComeBackAsTheyWere) {
  sample::Folder folder;
  const auto watch = sample::watch_state("KLVN", kDay);
  const auto symbol = sample::symbol_state("KLVN", kDay, 5);
  must(sample::open(folder.file("j"))->commit(states({watch}, {symbol})));
  auto journal = sample::open(folder.file("j"));
  EXPECT_THAT(must(journal->watch_states({})), ElementsAre(watch));
  EXPECT_THAT(must(journal->symbol_states({})), ElementsAre(symbol));
}

TEST(States, OfOneDayAreReplacedByTheLatest) {
  sample::Folder folder;
  auto journal = sample::open(folder.file("j"));
  must(journal->commit(states({sample::watch_state("KLVN", kDay, Side::inside)})));
  must(journal->commit(states({sample::watch_state("KLVN", kDay, Side::over)})));
  EXPECT_THAT(must(journal->watch_states({})), ElementsAre(sample::watch_state("KLVN", kDay, Side::over)));
  EXPECT_THAT(must(journal->watch_states(kDay)), IsEmpty()) << "before the first day there was nothing";
}

TEST(States, BeforeADayAreThoseOfEarlierDaysWhateverCameLater) {
  sample::Folder folder;
  auto journal = sample::open(folder.file("j"));
  const auto monday = sample::watch_state("KLVN", kDay, Side::under),
             tuesday = sample::watch_state("KLVN", kDay + 1, Side::over);
  const auto other = sample::watch_state("ORRI", kDay, Side::inside);
  must(journal->commit(states({monday, other}, {sample::symbol_state("KLVN", kDay, 10)})));
  must(journal->commit(states({tuesday}, {sample::symbol_state("KLVN", kDay + 1, 20)})));
  EXPECT_THAT(must(journal->watch_states(kDay + 1)), ElementsAre(monday, other));
  EXPECT_THAT(must(journal->watch_states({})), ElementsAre(tuesday, other));
  // A replay that starts again from the first day does not change what was before the second.
  must(journal->commit(states({sample::watch_state("KLVN", kDay, Side::over)})));
  must(journal->commit(states({monday})));
  EXPECT_THAT(must(journal->watch_states(kDay + 1)), ElementsAre(monday, other));
  EXPECT_THAT(must(journal->watch_states({})), ElementsAre(tuesday, other));
  EXPECT_THAT(must(journal->symbol_states(kDay + 1)), ElementsAre(sample::symbol_state("KLVN", kDay, 10)));
}

TEST(States, BelongToTheDayOfTheBatchWhereThatIsLater) {
  sample::Folder folder;
  auto journal = sample::open(folder.file("j"));
  auto batch = states({sample::watch_state("KLVN", kDay)});
  batch.day = kDay + 2;
  must(journal->commit(batch));
  EXPECT_THAT(must(journal->watch_states(kDay + 2)), IsEmpty());
  EXPECT_EQ(must(journal->watch_states(kDay + 3)).size(), 1U);
}

TEST(States, OlderThanTheKeptSpanAreThinnedAndThatIsSaid) {
  sample::Folder folder;
  auto journal = sample::open(folder.file("j"), {.days_kept = 10});
  for (int i = 0; i < 40; ++i) {
    must(journal->commit(states({sample::watch_state("KLVN", kDay + i)}, {sample::symbol_state("KLVN", kDay + i, i)})));
  }
  for (int i = 29; i <= 40; ++i) {
    const auto found = must(journal->symbol_states(kDay + i));
    ASSERT_EQ(found.size(), 1U) << i;
    EXPECT_EQ(found[0], sample::symbol_state("KLVN", kDay + i - 1, i - 1)) << i;
  }
  const auto thinned = journal->watch_states(kDay + 5);
  ASSERT_FALSE(thinned);
  EXPECT_THAT(thinned.error().text, HasSubstr("not kept any more"));
  EXPECT_THAT(must(journal->watch_states(kDay)), IsEmpty()) << "before the first day nothing was thinned away";
}

// After a long rest: a commit thins one week of it, and each later day one more.
TEST(States, WhatIsOverdueIsThinnedInSteps) {
  sample::Folder folder;
  auto journal = sample::open(folder.file("j"), {.days_kept = 5});
  for (const int i : {0, 1, 60}) must(journal->commit(states({sample::watch_state("KLVN", kDay + i)})));
  EXPECT_FALSE(journal->watch_states(kDay + 6));
  EXPECT_EQ(must(journal->watch_states(kDay + 9)).size(), 1U) << "not thinned yet";
  for (int i = 61; i <= 68; ++i) must(journal->commit(states({sample::watch_state("KLVN", kDay + i)})));
  EXPECT_FALSE(journal->watch_states(kDay + 54)) << "all that was overdue";
  EXPECT_EQ(must(journal->watch_states(kDay + 64)).size(), 1U);
}

// A pass over all states is made once a week, no sooner and no later.
TEST(States, AreThinnedEverySeventhDay) {
  sample::Folder folder;
  auto journal = sample::open(folder.file("j"), {.days_kept = 5});
  for (int i = 0; i <= 11; ++i) must(journal->commit(states({sample::watch_state("KLVN", kDay + i)})));
  EXPECT_TRUE(journal->watch_states(kDay + 5)) << "six days before the fifth day back";
  must(journal->commit(states({sample::watch_state("KLVN", kDay + 12)})));
  EXPECT_FALSE(journal->watch_states(kDay + 5));
  EXPECT_TRUE(journal->watch_states(kDay + 7));
}

TEST(States, DaysComeBackAsTheyWereSaved) {
  sample::Folder folder;
  sample::open(folder.file("j"));
  Database file = must(Database::open(folder.file("j"), Database::Mode::write, "", 0));
  StateDays days;
  EXPECT_TRUE(days.include(kDay));
  EXPECT_TRUE(days.include(kDay + 9));
  days.thinned_before = kDay + 2;
  must(days.save(file));
  StateDays back = must(StateDays::load(file));
  EXPECT_EQ(back.first, kDay);
  EXPECT_EQ(back.newest, kDay + 9);
  EXPECT_EQ(back.thinned_before, kDay + 2);
  EXPECT_FALSE(back.include(kDay + 5)) << "it lies between";
}

TEST(States, ThatNoLongerChangeOutliveTheThinning) {
  sample::Folder folder;
  auto journal = sample::open(folder.file("j"), {.days_kept = 5});
  const auto still = sample::watch_state("ORRI", kDay);
  must(journal->commit(states({still})));
  for (int i = 1; i < 60; ++i) must(journal->commit(states({sample::watch_state("KLVN", kDay + i)})));
  EXPECT_THAT(must(journal->watch_states(kDay + 59)), testing::Contains(still));
}

/// What a plain list of all that was written says, the newest before a day: by a key and its day.
struct Written {
  std::map<std::pair<std::string, std::int64_t>, std::map<Date, WatchState>> watches;

  void add(const WatchState& state) { watches[{state.symbol, state.pivot.micros}][state.day] = state; }
  [[nodiscard]] std::vector<WatchState> before(Date day) const {
    std::vector<WatchState> all;
    for (const auto& [key, days] : watches) {
      const auto later = days.lower_bound(day);
      if (later != days.begin()) all.push_back(std::prev(later)->second);
    }
    return all;
  }
};

TEST(States, BeforeAnyDayAreThoseOfAPlainListOfAllThatWasWritten) {
  sample::Folder folder;
  auto journal = sample::open(folder.file("j"));
  Written written;
  EXPECT_THAT(must(journal->watch_states({})), IsEmpty());
  for (int step = 0; step < 60; ++step) {
    JournalBatch batch;
    const Date day = kDay + (step * 7) % 23;  // to and fro, as replays of other days into one journal do
    for (int i = step % 3; i < 20; i += 1 + step % 4) {
      for (const std::int64_t pivot : {7, 11}) {
        WatchState state = sample::watch_state("S" + std::to_string(i), day);
        state.pivot = Price{pivot * 1'000'000};
        state.crossing_time = Timestamp{step};
        written.add(state);
        batch.watches.push_back(state);
      }
    }
    must(journal->commit(batch));
  }
  for (int i = 0; i <= 24; ++i) EXPECT_EQ(must(journal->watch_states(kDay + i)), written.before(kDay + i)) << i;
  EXPECT_EQ(must(journal->watch_states({})), written.before(kDay + 24));
  journal.reset();
  EXPECT_EQ(must(sample::open(folder.file("j"))->watch_states({})), written.before(kDay + 24));
}

TEST(States, OfWhichTheNewestIsDamagedAreThoseOfTheDayBefore) {
  sample::Folder folder;
  const auto monday = sample::watch_state("KLVN", kDay, Side::under);
  for (int i = 0; i < 3; ++i)
    must(sample::open(folder.file("j"))->commit(states({i == 0 ? monday : sample::watch_state("KLVN", kDay + i)})));
  Database file = must(Database::open(folder.file("j"), Database::Mode::write, "", 0));
  must(file.run("UPDATE newest_watches SET sum = sum + 1"));
  auto journal = sample::open(folder.file("j"));
  EXPECT_THAT(must(journal->watch_states({})), ElementsAre(sample::watch_state("KLVN", kDay + 1)));
  EXPECT_EQ(journal->damaged(), 1U);
  must(file.run("UPDATE watch_states SET sum = sum + 1 WHERE as_of = (SELECT max(as_of) FROM watch_states)"));
  EXPECT_THAT(must(journal->watch_states({})), ElementsAre(monday));
  EXPECT_EQ(journal->damaged(), 3U);
}

/// Rows that a start reads do not grow with the days.
TEST(States, ReadAtAStartAreAsManyAsThereAreWatches) {
  sample::Folder folder;
  auto journal = sample::open(folder.file("j"));
  for (int i = 0; i < 40; ++i) {
    JournalBatch batch = states({sample::watch_state("KLVN", kDay + i)}, {sample::symbol_state("KLVN", kDay + i, i)});
    batch.days = {{.day = kDay + i, .symbol = "KLVN", .volume = Shares::whole(i)}};
    must(journal->commit(batch));
  }
  Database file = must(Database::open(folder.file("j"), Database::Mode::read, "", 0));
  for (const char* table : {"newest_watches", "newest_symbols", "newest_days"})
    EXPECT_EQ(must(file.number((std::string("SELECT count(*) FROM ") + table).c_str())), 1) << table;
  EXPECT_EQ(must(file.number("SELECT count(*) FROM watch_states")), 39);
}

JournalBatch of_days(std::vector<DayRecord> days) {
  JournalBatch batch;
  batch.days = std::move(days);
  return batch;
}

DayRecord day_record(const char* symbol, int day, int volume, double coverage = 1, bool half_day = false) {
  return {
      .day = kDay + day, .symbol = symbol, .volume = Shares::whole(volume), .coverage = coverage, .half_day = half_day};
}

/// Held against the records themselves, which are asked for symbol by symbol.
void expect_newest_days_of_records(Journal& journal, std::size_t symbols) {
  const CarriedDays newest = must(journal.newest_days());
  EXPECT_EQ(newest.size(), symbols);
  for (const auto& [symbol, days] : newest) {
    const auto records = must(journal.days(symbol, kDay + 10'000, Journal::kNewestDays));
    ASSERT_EQ(days.size(), records.size()) << symbol;
    for (std::size_t i = 0; i < days.size(); ++i) {
      EXPECT_EQ(days[i].day, records[i].day);
      EXPECT_EQ(days[i].volume, records[i].volume);
      EXPECT_EQ(days[i].coverage, records[i].coverage);
      EXPECT_EQ(days[i].half_day, records[i].half_day);
    }
  }
}

TEST(NewestDays, AreThoseOfTheRecordsWhateverTheOrder) {
  sample::Folder folder;
  auto journal = sample::open(folder.file("j"));
  for (int step = 0; step < 90; ++step) {
    const int day = (step * 11) % 47;  // some of them twice: a correction writes a day again
    must(journal->commit(of_days(
        {day_record("KLVN", day, 100 + step, 1.0 / (1 + step), step % 2 == 0), day_record("ORRI", step / 30, step)})));
    expect_newest_days_of_records(*journal, 2);
    if (HasFailure()) return;
  }
}

TEST(NewestDays, OfADamagedRowAreReadFromTheRecords) {
  sample::Folder folder;
  auto journal = sample::open(folder.file("j"));
  for (int i = 0; i < 40; ++i) must(journal->commit(of_days({day_record("KLVN", i, i)})));
  Database file = must(Database::open(folder.file("j"), Database::Mode::write, "", 0));
  must(file.run("UPDATE newest_days SET days = x'00'"));
  expect_newest_days_of_records(*journal, 1);
  EXPECT_EQ(journal->damaged(), 1U);
  must(journal->commit(of_days({day_record("KLVN", 40, 40)})));
  expect_newest_days_of_records(*journal, 1);
  EXPECT_EQ(journal->damaged(), 1U) << "mended by the next day";
}

// A journal of before there was the table gets it with all that its records say.
TEST(NewestDays, OfAnOlderJournalComeFromItsRecords) {
  sample::Folder folder;
  {
    auto journal = sample::open(folder.file("j"));
    for (int i = 0; i < 40; ++i) must(journal->commit(of_days({day_record("KLVN", i, i), day_record("ORRI", i, 2 * i)})));
  }
  {
    Database file = must(Database::open(folder.file("j"), Database::Mode::write, "", 0));
    must(file.run(
        "DROP TABLE newest_days; DROP TABLE newest_watches; DROP TABLE newest_symbols; DROP INDEX notices_by_symbol; "
        "DROP INDEX holes_by_end; PRAGMA user_version = 5"));
  }
  expect_newest_days_of_records(*sample::open(folder.file("j")), 2);
}

TEST(States, OfAnotherLayoutAreReadByTheNamesOfTheirFields) {
  // As a version that had other fields would have written them: side and day in another order, one unknown, the rest
  // missing.
  std::string body;
  BodyWriter out(body);
  out.integer(static_cast<int>(Side::over));
  out.real(0.5);
  out.integer(3), out.integer(7), out.integer(8), out.integer(9);
  out.integer(kDay.days);
  WatchMemory memory;
  ASSERT_TRUE(read_body(fields_of("side i forgotten d counts a day i"), body, memory));
  EXPECT_EQ(memory.side, Side::over);
  EXPECT_EQ(memory.day, kDay);
  EXPECT_EQ(memory.counts[2], 9);
  EXPECT_EQ(memory.counts[3], 0);
  EXPECT_EQ(memory.armed, WatchMemory{}.armed) << "what it does not have keeps its first value";
}

TEST(States, ThatDoNotFitTheirLayoutAreRefused) {
  WatchMemory memory;
  const auto layout = fields_of(layout_of<WatchMemory>());
  const std::string body = body_of(memory);
  EXPECT_TRUE(read_body(layout, body, memory));
  EXPECT_FALSE(read_body(layout, body + "x", memory));
  for (std::size_t i = 0; i < body.size(); ++i) EXPECT_FALSE(read_body(layout, body.substr(0, i), memory)) << i;
  SymbolMemory symbol;
  const std::string of_symbol = body_of(symbol);
  for (std::size_t i = 0; i < of_symbol.size(); ++i) {
    EXPECT_FALSE(read_body(fields_of(layout_of<SymbolMemory>()), of_symbol.substr(0, i), symbol)) << i;
  }
  EXPECT_FALSE(read_body(fields_of("missed_minutes d"), "", symbol)) << "a fraction that is not there";
  EXPECT_FALSE(read_body(fields_of("crossing_time i"), std::string(11, '\xff'), memory)) << "a number without end";
  std::string wide;
  BodyWriter(wide).integer(1 << 20);
  EXPECT_FALSE(read_body(fields_of("confirm_trades i"), wide, memory)) << "a number that does not fit its field";
  std::string endless;
  BodyWriter(endless).integer(std::int64_t{1} << 60);
  EXPECT_FALSE(read_body(fields_of("counts a"), endless, memory)) << "a count larger than what follows";
}

}  // namespace
}  // namespace brimwatch
