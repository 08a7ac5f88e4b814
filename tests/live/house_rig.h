#pragma once
// The house with everything round it in a test's hand.
#include <gmock/gmock.h>

#include <set>

#include "journal/batch.h"
#include "journal/patient_keeper.h"
#include "live/house.h"
#include "simulation/virtual_time.h"
#include "support/watch_on.h"

namespace brimwatch::simulation {

inline constexpr Nanos kBeat = kSecond / 4;

/// Answers at once, or only when told to. What its disk says when it comes back is the test's choice.
class Keeper final : public BatchKeeper {
 public:
  Keeper(VirtualTime& time, WriterEvents events) : events(std::move(events)), time_(time) {}
  void set_recipients(Recipients) override {}
  void submit(JournalBatch batch, Done done) override {
    rows_most = std::max(rows_most, rows_of(batch));
    if (remembers_each) each.push_back(batch);
    waiting_.push_back({std::move(batch), std::move(done)});
    if (!hangs) time_.after(kSecond / 1000, [this] { answer(true); });
  }
  [[nodiscard]] WriterCounters counters() const override { return {}; }
  [[nodiscard]] std::size_t waiting() const override { return waiting_.size(); }

  /// As the writer does: the notices, then whoever waits.
  void answer(bool durable) {
    for (auto& [batch, done] : std::exchange(waiting_, {})) {
      if (!batch.notices.empty()) events.on_notices(batch.notices, durable);
      if (durable) append(kept, std::move(batch));
      else failed_.push_back(std::move(batch));
      done(durable);
    }
  }
  /// The failed ones are written after all.
  void recover() {
    for (JournalBatch& batch : std::exchange(failed_, {})) {
      events.on_notices(batch.notices, true);
      append(kept, std::move(batch));
    }
    events.on_recovery();
  }

  WriterEvents events;
  bool hangs = false;
  JournalBatch kept;
  std::size_t rows_most = 0;
  bool remembers_each = false;
  std::vector<JournalBatch> each;

 private:
  VirtualTime& time_;
  std::vector<std::pair<JournalBatch, Done>> waiting_;
  std::vector<JournalBatch> failed_;
};

class NoRecords final : public Records {
 public:
  void acknowledge(const std::string&, Timestamp, std::function<void()> answer) override { answer(); }
  void new_acknowledgements(std::function<void(std::vector<std::string>)>) override {}
};

class HandFeed final : public Feed {
 public:
  HandFeed(FeedListener*& listener, int& starts) : listener_(listener), starts_(starts) {}
  void start(FeedListener& listener) override {
    ++starts_;
    listener_ = &listener;
    state_ = FeedState::up;
  }
  void stop() override {}
  void subscribe(const std::vector<std::string>&) override {}
  [[nodiscard]] FeedHealth health() const override { return {.state = state_, .text = "up"}; }

 private:
  FeedState state_ = FeedState::stopped;
  FeedListener*& listener_;
  int& starts_;
};

/// The other side of a channel: takes what comes at once, or when it is told to.
struct Other {
  bool waits = false;
  std::vector<std::function<void()>> in_hand;
  void take() {
    for (const auto& one : std::exchange(in_hand, {})) one();
  }
};

/// Delivers, and remembers what.
class Runner final : public MessageRunner {
 public:
  Runner(std::vector<Message>& sent, Other& other, Done done) : sent_(sent), other_(other), done_(std::move(done)) {}
  [[nodiscard]] bool submit(Send send) override {
    sent_.push_back(send.message);
    other_.in_hand.emplace_back([done = done_, channel = send.channel, ticket = send.ticket] {
      done(channel, ticket, {Outcome::delivered, "taken", std::nullopt});
    });
    if (!other_.waits) other_.take();
    return true;
  }
  bool stop(std::chrono::milliseconds) override { return other_.in_hand.empty(); }

 private:
  std::vector<Message>& sent_;
  Other& other_;
  Done done_;
};

/// A house on a keeper, a feed and a channel that do what a test says, in virtual time.
struct HouseRig : testing::Test {
  void SetUp() override {
    open();
    house->restore({});
    begin();
    trade("KLVN", "19.80");
    trade("ORRI", "49.50");
    pass(20 * kSecond);
    sent.clear(), log.clear();
    keeper.kept = {};
  }

  void begin() {
    patient.stand_before(keeper);
    house->start(patient, records);
    ASSERT_NE(listener, nullptr);
    listener->on_state(FeedState::up, "up");
  }

  static Settings sample() {
    Settings settings;
    settings.files = {"brimwatch.toml"};
    settings.watches = {test::watch_on("KLVN", "20.00"), test::watch_on("ORRI", "50.00")};
    settings.feeds.emplace_back();
    settings.feeds.back().name = "main";
    settings.feeds.back().kind = "stream";
    settings.feeds.back().conditions = "cts";
    settings.channels.emplace_back();
    settings.channels.back().name = "desk";
    settings.channels.back().kind = "desktop";
    return settings;
  }

  virtual void change(Settings&) {}
  virtual void change(HouseWorld&) {}
  void open() {
    Settings settings = sample();
    change(settings);
    auto desk = Desk::open(std::move(settings));
    ASSERT_TRUE(desk) << desk.error().text;
    symbols = &(*desk)->symbols();
    HouseWorld round = world();
    change(round);
    auto opened = House::open(std::move(round), std::move(*desk));
    ASSERT_TRUE(opened) << opened.error().text;
    house = std::move(*opened);
  }

  PatientKeeper::World world_of_patient() {
    PatientKeeper::World world;
    world.steady = [this] { return time.steady(); };
    world.post = [this](std::function<void()> what) { time.after(0, std::move(what)); };
    world.events.on_notices = [this](const std::vector<NoticeRecord>& notices, bool durable) {
      house->on_written(notices, durable);
    };
    world.events.on_trouble = [this](const std::string& why) { house->on_journal(why); };
    world.events.on_recovery = [this] { house->on_journal(""); };
    world.trouble = [this](LogLevel, std::string_view text) { logged.emplace_back(text); };
    return world;
  }

  HouseWorld world() {
    HouseWorld world;
    world.wall = [this] { return time.wall(); };
    world.steady = [this] { return time.steady(); };
    world.post = [this](std::function<void()> what) { time.after(0, std::move(what)); };
    world.say = [this](LogLevel, std::string_view text) {
      logged.emplace_back(text);
      if (text.starts_with("journal")) log.emplace_back(text);
    };
    world.trouble = world.say;
    world.make_feed = [this](const FeedSettings& feed) -> Result<std::unique_ptr<Feed>> {
      if (cannot_be_made.contains(feed.name)) return fail("kind_words.T: found \"tade\"");
      return std::make_unique<HandFeed>(listener, feed_starts);
    };
    world.make_runner = [this](const ChannelSettings& channel,
                               MessageRunner::Done done) -> Result<std::unique_ptr<MessageRunner>> {
      if (cannot_be_made.contains(channel.name)) return fail("to: found \"a b@example.org\"");
      return std::make_unique<Runner>(sent, other, std::move(done));
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

  void beat() {
    patient.on_beat();
    house->on_beat();
  }

  void pass(Nanos span) {
    for (const Timestamp end = time.truth() + span; time.truth() < end;) {
      time.run_until(time.truth() + kBeat);
      beat();
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
  int feed_starts = 0;
  Other other;  ///< side of the channel
  std::vector<Message> sent;
  std::vector<std::string> log, logged;
  std::unique_ptr<House> house;
  PatientKeeper patient{world_of_patient()};
  Keeper keeper{time, patient.events_of_keeper()};
  NoRecords records;
  std::set<std::string> cannot_be_made;  ///< names of feeds and channels
  std::uint64_t last_id = 0;
};

}  // namespace brimwatch::simulation
