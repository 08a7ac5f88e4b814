#include "journal/writer.h"

#include <gmock/gmock.h>

#include <condition_variable>
#include <future>
#include <mutex>

#include "journal/backlog.h"
#include "journal/batch.h"
#include "sample.h"

namespace brimwatch {
namespace {

using namespace std::chrono_literals;
using sample::must;

constexpr auto kDeadline = 20s;

JournalBatch batch_of(int number) {
  JournalBatch batch;
  batch.notices.push_back(sample::notice(number));
  batch.watches.push_back(sample::watch_state("KLVN", sample::kDay, static_cast<Side>(number % 4)));
  return batch;
}

/// What the writer told, to be waited for.
class Ear {
 public:
  WriterEvents events() {
    return {.on_notices =
                [this](std::vector<NoticeRecord> notices, bool durable) {
                  for (const NoticeRecord& record : notices)
                    hear((durable ? "kept " : "told ") + std::to_string(record.notice.count));
                },
            .on_trouble = [this](const std::string&) { hear("trouble"); },
            .on_recovery = [this] { hear("recovery"); }};
  }
  void hear(std::string what) {
    const std::lock_guard lock(mutex_);
    heard_.push_back(std::move(what));
    changed_.notify_all();
  }
  bool wait_for(const std::string& what) {
    std::unique_lock lock(mutex_);
    return changed_.wait_for(lock, kDeadline,
                             [&] { return std::find(heard_.begin(), heard_.end(), what) != heard_.end(); });
  }
  std::vector<std::string> heard() {
    const std::lock_guard lock(mutex_);
    return heard_;
  }

 private:
  std::mutex mutex_;
  std::condition_variable changed_;
  std::vector<std::string> heard_;
};

/// A disk that fails, or hangs, when told to; one for all journals that are opened on it.
struct Disk {
  std::mutex mutex;
  std::condition_variable changed;
  int commits_to_fail = 0, opens_to_fail = 0, tidied = 0;
  bool hangs = false, reached = false;
  int abandoned = 0;
};

class FailingJournal final : public Journal {
 public:
  FailingJournal(std::unique_ptr<Journal> real, Disk& disk) : real_(std::move(real)), disk_(disk) {}
  using Journal::commit;
  Status commit(const JournalBatch& batch, const Recipients& to, std::vector<NoticeRecord>* written) override {
    std::unique_lock lock(disk_.mutex);
    disk_.reached = true;
    disk_.changed.notify_all();
    disk_.changed.wait(lock, [&] { return !disk_.hangs; });
    EXPECT_FALSE(failed_) << "nothing is written through a handle that has failed";
    if (disk_.commits_to_fail > 0) {
      --disk_.commits_to_fail;
      failed_ = true;
      return fail("journal: the disk is full");
    }
    return real_->commit(batch, to, written);
  }
  void tidy() override {
    const std::lock_guard lock(disk_.mutex);
    ++disk_.tidied;
    disk_.changed.notify_all();
  }
  Status each_notice(const NoticeQuery& q, const std::function<bool(const NoticeRecord&)>& c) override {
    return real_->each_notice(q, c);
  }
  Result<std::vector<DeliveryRow>> deliveries(const std::string& id) override { return real_->deliveries(id); }
  Result<std::vector<OpenDelivery>> open_deliveries() override { return real_->open_deliveries(); }
  Status acknowledge(const std::string& id, Timestamp at) override { return real_->acknowledge(id, at); }
  Result<bool> acknowledged(const std::string& id) override { return real_->acknowledged(id); }
  Result<std::vector<Acknowledgement>> acknowledgements(std::int64_t after) override {
    return real_->acknowledgements(after);
  }
  Result<std::vector<Answer>> answers(std::optional<Date> from, std::optional<Date> to) override {
    return real_->answers(from, to);
  }
  Result<int> highest_count(Date d, const std::string& s, NoticeKind k) override { return real_->highest_count(d, s, k); }
  Result<std::vector<WatchState>> watch_states(std::optional<Date> before) override {
    return real_->watch_states(before);
  }
  Result<std::vector<SymbolState>> symbol_states(std::optional<Date> before) override {
    return real_->symbol_states(before);
  }
  Result<std::vector<DayRecord>> days(const std::string& s, Date b, int n) override { return real_->days(s, b, n); }
  Result<std::vector<Hole>> holes(Timestamp from, Timestamp to) override { return real_->holes(from, to); }
  [[nodiscard]] std::uint64_t damaged() const override { return 0; }
  [[nodiscard]] std::string losses() const override { return real_->losses(); }
  void abandon() override {
    const std::lock_guard lock(disk_.mutex);
    ++disk_.abandoned;
  }

 private:
  std::unique_ptr<Journal> real_;
  Disk& disk_;
  bool failed_ = false;
};

struct Fixture : testing::Test {
  JournalWriter::Opener opener() {
    return [this]() -> Result<std::unique_ptr<Journal>> {
      {
        const std::lock_guard lock(disk.mutex);
        if (disk.opens_to_fail > 0) return --disk.opens_to_fail, fail("journal: the directory may not be written");
      }
      auto real = Journal::open(folder.file("j"));
      if (!real) return tl::unexpected(real.error());
      return std::make_unique<FailingJournal>(std::move(*real), disk);
    };
  }
  /// For a BacklogWriter, which has no thread: the clock is `now`, and what it notes stands in `counters` and `rows`.
  BacklogWriter::World world() {
    return world([this] { return ear.events(); });
  }
  BacklogWriter::World world(std::function<WriterEvents()> events) {
    return {.steady = [this] { return now; },
            .events = std::move(events),
            .recipients = [] { return to_all({"mail"}); },
            .note = [this](const WriterCounters& noted, std::size_t left) { counters = noted, rows = left; }};
  }
  bool hangs_now() {
    std::unique_lock lock(disk.mutex);
    return disk.changed.wait_for(lock, kDeadline, [this] { return disk.reached; });
  }
  void let_go() {
    const std::lock_guard lock(disk.mutex);
    disk.hangs = false;
    disk.changed.notify_all();
  }
  std::vector<int> kept() {
    std::vector<int> counts;
    for (const auto& record : must(sample::open(folder.file("j"))->notices({}))) counts.push_back(record.notice.count);
    return counts;
  }
  static constexpr WriterOptions kFast{.reopen_first = 1ms, .reopen_most = 2ms};
  sample::Folder folder;
  Disk disk;
  Ear ear;
  Nanos now = 0;
  WriterCounters counters;
  std::size_t rows = 0;
};

using Writer = Fixture;

TEST_F(Writer, WritesInOrderAndSaysWhenItIsDurable) {
  JournalWriter writer(nullptr, opener(), ear.events(), kFast);
  writer.set_recipients(to_all({"mail"}));
  std::promise<bool> done;
  writer.submit(batch_of(1));
  writer.submit(batch_of(2), [&](bool durable) { done.set_value(durable); });
  EXPECT_TRUE(done.get_future().get());
  EXPECT_TRUE(writer.stop(kDeadline));
  EXPECT_THAT(kept(), testing::ElementsAre(1, 2));
  EXPECT_THAT(ear.heard(), testing::ElementsAre("kept 1", "kept 2"));
  EXPECT_EQ(must(sample::open(folder.file("j"))->open_deliveries()).size(), 2U);
}

TEST_F(Writer, TidiesOnceWhatItHasIsToldAndNothingWaits) {
  BacklogWriter writer(nullptr, opener(), kFast, world());
  writer.tidy();
  disk.commits_to_fail = 1;
  std::deque<BacklogWriter::Submission> one;
  one.push_back({batch_of(1), {}});
  writer.write(std::move(one));
  writer.tidy();
  EXPECT_EQ(disk.tidied, 0) << "there is no journal, then one whose rest comes first";
  now = writer.next_attempt();
  writer.write({});
  writer.tidy();
  EXPECT_EQ(disk.tidied, 1);

  JournalWriter threaded(nullptr, opener(), ear.events(), kFast);
  threaded.submit(batch_of(2));
  std::unique_lock lock(disk.mutex);
  EXPECT_TRUE(disk.changed.wait_for(lock, kDeadline, [this] { return disk.tidied > 1; }));
  lock.unlock();
  EXPECT_THAT(ear.heard(), testing::Contains("kept 2")) << "told before";
}

TEST_F(Writer, HandsOutOnlyWhatIsNew) {
  must(sample::open(folder.file("j"))->commit(batch_of(1)));
  JournalWriter writer(nullptr, opener(), ear.events(), kFast);
  writer.submit(batch_of(1));
  writer.submit(batch_of(2));
  EXPECT_TRUE(writer.stop(kDeadline));
  EXPECT_THAT(ear.heard(), testing::ElementsAre("kept 2"));
}

TEST_F(Writer, TellsNoticesThatCannotBeWrittenAndWritesThemLater) {
  disk.commits_to_fail = 3;
  JournalWriter writer(nullptr, opener(), ear.events(), kFast);
  std::promise<bool> done;
  writer.submit(batch_of(1), [&](bool durable) { done.set_value(durable); });
  EXPECT_FALSE(done.get_future().get()) << "it is not durable, and whoever waits is told so";
  ASSERT_TRUE(ear.wait_for("recovery"));
  EXPECT_THAT(ear.heard(), testing::ElementsAre("trouble", "told 1", "kept 1", "recovery"));
  writer.submit(batch_of(2));
  EXPECT_TRUE(writer.stop(kDeadline));
  EXPECT_THAT(kept(), testing::ElementsAre(1, 2));
  const WriterCounters counted = writer.counters();
  EXPECT_EQ(counted.failures, 3U);
  EXPECT_EQ(counted.told_undurable, 1U);
  EXPECT_EQ(counted.reopened, 4U) << "never again through the same handle";
  EXPECT_EQ(disk.abandoned, 3);
}

TEST_F(Writer, SaysThatItIsDurableToWhoeverComesWithTheWayBack) {
  disk.commits_to_fail = 1;
  BacklogWriter writer(must(opener()()), opener(), kFast, world());
  std::vector<bool> durable;
  const auto give = [&](int number) {
    std::deque<BacklogWriter::Submission> one;
    one.push_back({batch_of(number), [&](bool is) { durable.push_back(is); }});
    writer.write(std::move(one));
  };
  give(1), give(2);
  EXPECT_TRUE(writer.has_rest());
  now = writer.next_attempt();
  give(3);
  EXPECT_FALSE(writer.has_rest());
  give(4);
  EXPECT_THAT(durable, testing::ElementsAre(false, false, true, true));
  writer.end();
  EXPECT_THAT(kept(), testing::ElementsAre(1, 2, 3, 4));
}

// The pause grows while it does not go; the next trouble begins with the short one again.
TEST_F(Writer, WaitsLongerEachTimeAndAnewAfterARecovery) {
  BacklogWriter writer(must(opener()()), opener(), {.reopen_first = 1ms, .reopen_most = 4ms}, world());
  std::vector<Nanos> pauses;
  const auto live_through = [&](int number, int opens_to_fail) {
    disk.commits_to_fail = 1;
    disk.opens_to_fail = opens_to_fail;
    std::deque<BacklogWriter::Submission> submissions;
    submissions.push_back({batch_of(number), {}});
    writer.write(std::move(submissions));
    while (writer.has_rest()) {
      pauses.push_back(writer.next_attempt() - now);
      now = writer.next_attempt();
      writer.write({});
    }
  };
  live_through(1, 4);
  live_through(2, 0);
  writer.end();
  constexpr Nanos kMs = 1'000'000;
  EXPECT_THAT(pauses, testing::ElementsAre(kMs, 2 * kMs, 4 * kMs, 4 * kMs, 4 * kMs, kMs));
  EXPECT_THAT(kept(), testing::ElementsAre(1, 2));
}

// All of them are told; of those that wait for the disk the oldest go, and are counted.
TEST_F(Writer, CountsWhatItCannotHoldAnyMore) {
  disk.opens_to_fail = 1;
  std::size_t told = 0;
  WriterEvents events;
  events.on_notices = [&](std::vector<NoticeRecord> notices, bool durable) { told += durable ? 0 : notices.size(); };
  BacklogWriter writer(nullptr, opener(), kFast, world([&] { return events; }));
  JournalBatch batch;
  batch.day = sample::kDay;
  batch.notices.assign(kBacklogMost + 5, sample::notice(1));
  std::deque<BacklogWriter::Submission> submissions;
  submissions.push_back({std::move(batch), {}});
  writer.write(std::move(submissions));
  EXPECT_EQ(counters.lost, 5U);
  EXPECT_EQ(told, kBacklogMost + 5);
}

// Of states only the last is worth keeping, however long the disk is away.
TEST_F(Writer, KeepsTheLastOfEachStateWhileItCannotWrite) {
  disk.opens_to_fail = 1;
  BacklogWriter writer(nullptr, opener(), kFast, world());
  JournalBatch batch;
  batch.day = sample::kDay;
  batch.watches.assign(kRowsBeforeCoalescing + 1, sample::watch_state("KLVN", sample::kDay));
  std::deque<BacklogWriter::Submission> submissions;
  submissions.push_back({std::move(batch), {}});
  writer.write(std::move(submissions));
  EXPECT_EQ(rows, 1U);
  EXPECT_EQ(counters.coalesced, kRowsBeforeCoalescing);
}

// Of a day in trouble one batch is left, however many there were; each day has its own, since states are kept by day.
TEST(TheBacklog, MakesOneBatchOfADay) {
  Backlog backlog;
  for (const int day : {0, 0, 1, 1, 1, 0}) {
    JournalBatch batch = batch_of(day);
    batch.day = sample::kDay + day;
    backlog.add(std::move(batch));
  }
  std::vector<std::pair<int, std::size_t>> left;
  for (; !backlog.empty(); backlog.pop())
    left.emplace_back(*backlog.front().day - sample::kDay, backlog.front().notices.size());
  EXPECT_THAT(left, testing::ElementsAre(testing::Pair(0, 2), testing::Pair(1, 3), testing::Pair(0, 1)));
}

// What does not fit into memory any more: the oldest notices go, of the oldest day first, and each is counted.
TEST(TheBacklog, DropsTheOldestNoticesAndNoMore) {
  Backlog backlog;
  for (int day = 0; day < 3; ++day) {
    JournalBatch batch;
    batch.day = sample::kDay + day;
    for (int i = 0; i < 4; ++i) batch.notices.push_back(sample::notice(10 * day + i));
    batch.holes.push_back({});
    backlog.add(std::move(batch));
  }
  const auto left = [&] {
    std::vector<int> counts;
    for (Backlog copy = backlog; !copy.empty(); copy.pop())
      for (const auto& record : copy.front().notices) counts.push_back(record.notice.count);
    return counts;
  };
  EXPECT_EQ(backlog.drop_oldest_notices(12), 0U);
  EXPECT_EQ(left().size(), 12U);
  EXPECT_EQ(backlog.drop_oldest_notices(6), 6U);
  EXPECT_THAT(left(), testing::ElementsAre(12, 13, 20, 21, 22, 23));
  EXPECT_EQ(backlog.rows(), 9U) << "holes stay";
  EXPECT_EQ(backlog.drop_oldest_notices(0), 6U);
  EXPECT_THAT(left(), testing::IsEmpty());
}

TEST_F(Writer, SpeaksOfTroubleOnceHoweverLongItLasts) {
  disk.opens_to_fail = 20;
  JournalWriter writer(nullptr, opener(), ear.events(), kFast);
  for (int i = 1; i <= 5; ++i) writer.submit(batch_of(i));
  ASSERT_TRUE(ear.wait_for("recovery"));
  const auto heard = ear.heard();
  EXPECT_EQ(std::count(heard.begin(), heard.end(), "trouble"), 1);
  for (int i = 1; i <= 5; ++i) EXPECT_EQ(std::count(heard.begin(), heard.end(), "told " + std::to_string(i)), 1) << i;
  EXPECT_TRUE(writer.stop(kDeadline));
  EXPECT_THAT(kept(), testing::ElementsAre(1, 2, 3, 4, 5));
}

// However long the pause: at the end it is tried once more.
TEST_F(Writer, TriesOnceMoreWhenItEnds) {
  disk.opens_to_fail = 1;
  JournalWriter writer(nullptr, opener(), ear.events(), {.reopen_first = 24h, .reopen_most = 24h});
  writer.submit(batch_of(1));
  ASSERT_TRUE(ear.wait_for("told 1"));
  EXPECT_TRUE(writer.stop(kDeadline));
  EXPECT_THAT(kept(), testing::ElementsAre(1));
}

TEST_F(Writer, SaysWhenItEndsWithSomethingUnwritten) {
  disk.opens_to_fail = 1'000'000;
  JournalWriter writer(nullptr, opener(), ear.events(), kFast);
  writer.submit(batch_of(1));
  ASSERT_TRUE(ear.wait_for("told 1"));
  EXPECT_EQ(writer.waiting(), 2U) << "a notice and a state";
  EXPECT_FALSE(writer.stop(kDeadline));
}

TEST_F(Writer, NeverMakesTheEngineWaitForADiskThatHangs) {
  disk.hangs = true;
  auto* writer = new JournalWriter(nullptr, opener(), ear.events(), kFast);
  writer->submit(batch_of(1));
  ASSERT_TRUE(hangs_now());
  for (int i = 2; i < 1000; ++i) writer->submit(batch_of(i));  // would never end if it waited
  EXPECT_GT(writer->waiting(), 0U);
  let_go();
  EXPECT_TRUE(writer->stop(kDeadline));
  delete writer;
  EXPECT_EQ(kept().size(), 999U);
}

TEST_F(Writer, CoalescesStatesButNoNotices) {
  disk.hangs = true;
  JournalWriter writer(nullptr, opener(), ear.events(), kFast);
  writer.submit(batch_of(1));
  ASSERT_TRUE(hangs_now());
  JournalBatch many;
  for (std::size_t i = 0; i < 1000; ++i)
    many.watches.push_back(sample::watch_state("KLVN", sample::kDay, static_cast<Side>(i % 4)));
  many.notices.push_back(sample::notice(0));
  for (int i = 0; i < 150; ++i) {
    many.notices[0] = sample::notice(2 + i);
    writer.submit(many);
  }
  constexpr std::size_t kGiven = 2 + 150 * 1001;
  EXPECT_LT(writer.waiting(), 101'000U);
  EXPECT_GT(writer.waiting(), 40'000U) << "it is not put together at every turn";
  EXPECT_EQ(writer.waiting() + writer.counters().coalesced, kGiven);
  let_go();
  EXPECT_TRUE(writer.stop(kDeadline));
  EXPECT_EQ(writer.waiting(), 0U);
  EXPECT_EQ(kept().size(), 151U);
}

// Also of many small batches, where nobody waits for one of them.
TEST_F(Writer, CoalescesAcrossBatches) {
  disk.hangs = true;
  JournalWriter writer(nullptr, opener(), ear.events(), kFast);
  writer.submit(batch_of(1));
  ASSERT_TRUE(hangs_now());
  JournalBatch one;
  one.day = batch_of(1).day;
  one.watches.push_back(sample::watch_state("KLVN", sample::kDay));
  for (std::size_t i = 0; i <= kRowsBeforeCoalescing; ++i) writer.submit(one);
  EXPECT_LT(writer.waiting(), 10U);
  let_go();
  EXPECT_TRUE(writer.stop(kDeadline));
}

TEST(Batch, KeepsTheLastOfEachKey) {
  JournalBatch batch = batch_of(1);
  JournalBatch later = batch_of(2);
  later.watches.push_back(sample::watch_state("ORRI", sample::kDay));
  later.symbols = {sample::symbol_state("KLVN", sample::kDay, 1), sample::symbol_state("KLVN", sample::kDay, 2),
                   sample::symbol_state("KLVN", sample::kDay + 1, 3)};
  later.deliveries = {{.notice_id = "a", .channel = "b", .attempts = 1},
                      {.notice_id = "a", .channel = "b", .attempts = 2}};
  append(batch, std::move(later));
  EXPECT_EQ(rows_of(batch), 2U + 3 + 3 + 2);
  JournalBatch rest;
  rest.days.resize(2), rest.holes.resize(3);
  append(batch, std::move(rest));
  EXPECT_EQ(batch.days.size(), 2U);
  EXPECT_EQ(batch.holes.size(), 3U);
  EXPECT_EQ(rows_of(batch), 2U + 3 + 3 + 2 + 2 + 3);
  coalesce(batch);
  EXPECT_EQ(batch.days.size(), 2U);
  EXPECT_EQ(batch.holes.size(), 3U);
  EXPECT_EQ(batch.notices.size(), 2U);
  ASSERT_EQ(batch.watches.size(), 2U);
  EXPECT_EQ(batch.watches[0].side, static_cast<Side>(2));
  ASSERT_EQ(batch.symbols.size(), 2U);
  EXPECT_EQ(batch.symbols[0].so_far, Shares::whole(2));
  ASSERT_EQ(batch.deliveries.size(), 1U);
  EXPECT_EQ(batch.deliveries[0].attempts, 2);
}

}  // namespace
}  // namespace brimwatch
