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
