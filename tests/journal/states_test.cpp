#include <gmock/gmock.h>

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

TEST(States, ThatNoLongerChangeOutliveTheThinning) {
  sample::Folder folder;
  auto journal = sample::open(folder.file("j"), {.days_kept = 5});
  const auto still = sample::watch_state("ORRI", kDay);
  must(journal->commit(states({still})));
  for (int i = 1; i < 60; ++i) must(journal->commit(states({sample::watch_state("KLVN", kDay + i)})));
  EXPECT_THAT(must(journal->watch_states(kDay + 59)), testing::Contains(still));
}

}  // namespace
}  // namespace brimwatch
