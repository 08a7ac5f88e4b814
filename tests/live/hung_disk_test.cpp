// A disk that hangs reports no error: the house must see it by itself, tell all the same, and tell nothing twice.
#include <gmock/gmock.h>

#include "journal/batch.h"
#include "live/house.h"
#include "simulation/virtual_time.h"
#include "support/watch_on.h"

namespace brimwatch::simulation {
namespace {

using test::watch_on;
using testing::Each;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

constexpr Nanos kBeat = kSecond / 4;

/// Answers at once, or only when told to. What its disk says when it comes back is the test's choice.
class Keeper final : public BatchKeeper {
 public:
  Keeper(VirtualTime& time, std::unique_ptr<House>& house) : time_(time), house_(house) {}
  void set_recipients(Recipients) override {}
  void submit(JournalBatch batch, Done done) override {
    rows_most = std::max(rows_most, rows_of(batch));
    waiting_.push_back({std::move(batch), std::move(done)});
    if (!hangs) time_.after(kSecond / 1000, [this] { answer(true); });
  }
  [[nodiscard]] WriterCounters counters() const override { return {}; }
  [[nodiscard]] std::size_t waiting() const override { return waiting_.size(); }

  /// As the writer does: the notices, then whoever waits.
  void answer(bool durable) {
    for (auto& [batch, done] : std::exchange(waiting_, {})) {
      if (!batch.notices.empty()) tell(batch.notices, durable);
      if (durable) append(kept, std::move(batch));
      else failed_.push_back(std::move(batch));
      done(durable);
    }
  }
  /// The failed ones are written after all.
  void recover() {
    for (JournalBatch& batch : std::exchange(failed_, {})) {
      tell(batch.notices, true);
      append(kept, std::move(batch));
    }
    time_.after(0, [this] { house_->on_journal(""); });
  }

  bool hangs = false;
  JournalBatch kept;
  std::size_t rows_most = 0;

 private:
  void tell(const std::vector<NoticeRecord>& notices, bool durable) {
    time_.after(0, [this, notices, durable] { house_->on_written(notices, durable); });
  }
  VirtualTime& time_;
  std::unique_ptr<House>& house_;
  std::vector<std::pair<JournalBatch, Done>> waiting_;
  std::vector<JournalBatch> failed_;
};

class NoRecords final : public Records {
 public:
  void acknowledge(const std::string&, Timestamp, std::function<void()>) override {}
  void new_acknowledgements(std::function<void(std::vector<std::string>)>) override {}
};

class HandFeed final : public Feed {
 public:
  explicit HandFeed(FeedListener*& listener) : listener_(listener) {}
  void start(FeedListener& listener) override {
    listener_ = &listener;
    state_ = FeedState::up;
  }
  void stop() override {}
  void subscribe(const std::vector<std::string>&) override {}
  [[nodiscard]] FeedHealth health() const override { return {.state = state_, .text = "up"}; }

 private:
  FeedState state_ = FeedState::stopped;
  FeedListener*& listener_;
};

/// Delivers at once, and remembers what.
class Runner final : public MessageRunner {
 public:
  Runner(std::vector<Message>& sent, Done done) : sent_(sent), done_(std::move(done)) {}
  [[nodiscard]] bool submit(Send send) override {
    sent_.push_back(send.message);
    done_(send.channel, send.ticket, {Outcome::delivered, "taken", std::nullopt});
    return true;
  }
  bool stop(std::chrono::milliseconds) override { return true; }

 private:
  std::vector<Message>& sent_;
  Done done_;
};

struct HungDisk : testing::Test {
  void SetUp() override {
    Settings settings;
    settings.watches = {watch_on("KLVN", "20.00"), watch_on("ORRI", "50.00")};
    settings.feeds.emplace_back();
    settings.feeds.back().name = "main";
    settings.feeds.back().kind = "stream";
    settings.feeds.back().conditions = "cts";
    settings.channels.emplace_back();
    settings.channels.back().name = "desk";
    settings.channels.back().kind = "desktop";
    auto desk = Desk::open(std::move(settings));
    ASSERT_TRUE(desk) << desk.error().text;
    symbols = &(*desk)->symbols();
    house = std::make_unique<House>(world(), std::move(*desk));
    house->restore({});
    house->start(keeper, records);
    ASSERT_NE(listener, nullptr);
    listener->on_state(FeedState::up, "up");
    trade("KLVN", "19.80");
    trade("ORRI", "49.50");
    pass(20 * kSecond);
    sent.clear(), log.clear();
    keeper.kept = {};
  }

  HouseWorld world() {
    HouseWorld world;
    world.wall = [this] { return time.wall(); };
    world.steady = [this] { return time.steady(); };
    world.post = [this](std::function<void()> what) { time.after(0, std::move(what)); };
    world.say = [this](LogLevel, std::string_view text) {
      if (text.starts_with("journal")) log.emplace_back(text);
    };
    world.trouble = world.say;
    world.make_feed = [this](const FeedSettings&) { return std::make_unique<HandFeed>(listener); };
    world.make_runner = [this](const ChannelSettings&, MessageRunner::Done done) {
      return std::make_unique<Runner>(sent, std::move(done));
    };
    world.save_lessons = [](const LearnedBySymbol&, const std::string&) {};
    world.end = [](const std::string&) {};
    return world;
  }

  void trade(const char* symbol, const char* price) {
    Tick tick;
    tick.symbol = symbols->find(symbol);
    tick.time = tick.received = time.truth();
    tick.price = *parse_price(price);
    tick.size = Shares::whole(100);
    tick.exchange = 'N';
    tick.id = ++last_id;
    listener->on_ticks({&tick, 1});
  }

  void pass(Nanos span) {
    for (const Timestamp end = time.truth() + span; time.truth() < end;) {
      time.run_until(time.truth() + kBeat);
      house->on_beat();
    }
    time.run_until(time.truth() + 1);
  }

  [[nodiscard]] std::size_t times_sent(const std::string& word) const {
    std::size_t count = 0;
    for (const Message& message : sent)
      for (const NoticeRecord& record : message.notices) count += record.title.find(word) != std::string::npos ? 1 : 0;
    return count;
  }
  [[nodiscard]] std::size_t times_kept(const std::string& symbol) const {
    const auto& notices = keeper.kept.notices;
    return static_cast<std::size_t>(
        std::count_if(notices.begin(), notices.end(), [&](const auto& one) { return one.symbol == symbol; }));
  }

  VirtualTime time{*parse_rfc3339("2026-10-14T10:30:00-04:00")};
  SymbolTable* symbols = nullptr;
  FeedListener* listener = nullptr;
  std::vector<Message> sent;
  std::vector<std::string> log;
  std::unique_ptr<House> house;
  Keeper keeper{time, house};
  NoRecords records;
  std::uint64_t last_id = 0;
};

bool says_no_answer(const Message& message) {
  return message.text.find("the disk has not answered for 10 s") != std::string::npos;
}

TEST_F(HungDisk, ACrossingIsToldThoughTheCommitNeverReturns) {
  EXPECT_TRUE(house->is_well());
  keeper.hangs = true;
  trade("KLVN", "20.10");
  pass(9 * kSecond);
  EXPECT_THAT(sent, IsEmpty()) << "a slow disk is waited for";
  EXPECT_TRUE(house->is_well());
  pass(2 * kSecond);
  EXPECT_EQ(times_sent("KLVN"), 1U);
  EXPECT_FALSE(house->is_well());
  EXPECT_THAT(log, ElementsAre("journal: the disk has not answered for 10 s"));
  pass(kMinute);
  EXPECT_EQ(times_sent("KLVN"), 1U);
  EXPECT_EQ(log.size(), 1U);
  EXPECT_EQ(std::count_if(sent.begin(), sent.end(), says_no_answer), 1);
}

TEST_F(HungDisk, WhatHappensMeanwhileIsToldAtOnce) {
  keeper.hangs = true;
  trade("KLVN", "20.10");
  pass(kMinute);
  trade("ORRI", "50.10");
  pass(kSecond);
  EXPECT_EQ(times_sent("ORRI"), 1U);
}

TEST_F(HungDisk, AllIsKeptAndNothingToldTwiceWhenItAnswers) {
  keeper.hangs = true;
  trade("KLVN", "20.10");
  pass(kMinute);
  trade("ORRI", "50.10");
  pass(kMinute);
  keeper.hangs = false;
  keeper.answer(true);
  pass(kMinute);
  EXPECT_EQ(times_sent("KLVN"), 1U);
  EXPECT_EQ(times_sent("ORRI"), 1U);
  EXPECT_EQ(times_kept("KLVN"), 1U);
  EXPECT_EQ(times_kept("ORRI"), 1U);
  EXPECT_THAT(log, ElementsAre("journal: the disk has not answered for 10 s", "journal: works again"));
  EXPECT_TRUE(house->is_well());
  EXPECT_TRUE(house->is_quiet());
  coalesce(keeper.kept);
  EXPECT_EQ(keeper.kept.deliveries.size(), sent.size());
  std::vector<DeliveryState> ends;
  for (const DeliveryRow& row : keeper.kept.deliveries) ends.push_back(row.state);
  EXPECT_THAT(ends, Each(DeliveryState::delivered));
}

TEST_F(HungDisk, AMessageThatWaitsForItsRowGoes) {
  trade("KLVN", "20.10");
  keeper.hangs = true;
  time.run_until(time.truth() + kBeat);  // the notice is kept, the row of its delivery is not
  pass(9 * kSecond);
  EXPECT_THAT(sent, IsEmpty());
  pass(2 * kSecond);
  EXPECT_EQ(times_sent("KLVN"), 1U);
}

TEST_F(HungDisk, AnErrorAfterItHungTellsNothingTwice) {
  keeper.hangs = true;
  trade("KLVN", "20.10");
  pass(kMinute);
  house->on_journal("the disk is full");
  keeper.answer(false);
  pass(kSecond);
  trade("ORRI", "50.10");
  keeper.answer(false);
  pass(kMinute);
  EXPECT_FALSE(house->is_well());
  keeper.hangs = false;
  keeper.answer(false);
  keeper.recover();
  pass(kMinute);
  EXPECT_EQ(times_sent("KLVN"), 1U);
  EXPECT_EQ(times_sent("ORRI"), 1U);
  EXPECT_EQ(times_kept("ORRI"), 1U);
  EXPECT_EQ(log.back(), "journal: works again");
  EXPECT_TRUE(house->is_well());
}

TEST_F(HungDisk, AnAnswerJustBeforeTheBeatIsNoTrouble) {
  keeper.hangs = true;
  trade("KLVN", "20.10");
  pass(9 * kSecond + 3 * kBeat);
  keeper.hangs = false;
  keeper.answer(true);
  pass(kMinute);
  EXPECT_EQ(times_sent("KLVN"), 1U);
  EXPECT_THAT(log, IsEmpty());
}

TEST_F(HungDisk, AComputerThatSleptBlamesNoDisk) {
  keeper.hangs = true;
  trade("KLVN", "20.10");
  pass(kSecond);
  time.run_until(time.truth() + kHour);
  house->on_beat();
  EXPECT_THAT(log, testing::Not(testing::Contains(HasSubstr("the disk"))));
}

TEST_F(HungDisk, HoursOfItNeedNoMoreRoomThanTheNotices) {
  keeper.hangs = true;
  for (int minute = 0; minute < 240; ++minute) {
    trade("KLVN", minute % 2 == 0 ? "20.10" : "19.80");
    pass(kMinute);
  }
  EXPECT_LT(keeper.waiting(), 50U) << "what was on its way when it was found out";
  keeper.hangs = false;
  keeper.answer(true);
  pass(kMinute);
  EXPECT_LT(keeper.rows_most, 1000U);
  EXPECT_TRUE(house->is_well());
}

TEST_F(HungDisk, WhatIsLeftIsHandedOverAtTheEnd) {
  keeper.hangs = true;
  trade("KLVN", "20.10");
  pass(kMinute);
  trade("ORRI", "50.10");
  house->begin_end();
  time.run_until(time.truth() + kSecond);
  EXPECT_EQ(times_sent("ORRI"), 1U);
  keeper.answer(true);
  time.run_until(time.truth() + kSecond);
  EXPECT_EQ(times_kept("ORRI"), 1U);
  EXPECT_EQ(times_sent("ORRI"), 1U);
}

}  // namespace
}  // namespace brimwatch::simulation
