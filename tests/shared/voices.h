#pragma once
// Machines of one house on one fake log, in virtual time, each with a keeper in memory and a way to be asked directly.
#include <gmock/gmock.h>

#include <map>

#include "fake_link.h"
#include "shared/shared_keeper.h"

namespace brimwatch::test {

using simulation::VirtualTime;

inline constexpr Nanos kTick = kSecond / 10;

/// Keeps batches in memory, at once.
class MemoryKeeper final : public BatchKeeper {
 public:
  std::vector<std::string> notices;
  std::vector<DeliveryRow> deliveries;
  std::function<void(std::vector<NoticeRecord>)> on_notices;

  void set_recipients(Recipients) override {}
  void submit(JournalBatch batch, Done done) override {
    std::vector<NoticeRecord> fresh;
    for (const NoticeRecord& one : batch.notices) {
      if (std::find(notices.begin(), notices.end(), one.id) != notices.end()) continue;
      notices.push_back(one.id), fresh.push_back(one);
    }
    deliveries.insert(deliveries.end(), batch.deliveries.begin(), batch.deliveries.end());
    if (!fresh.empty()) on_notices(std::move(fresh));
    if (done) done(true);
  }
  [[nodiscard]] WriterCounters counters() const override { return {}; }
  [[nodiscard]] std::size_t waiting() const override { return 0; }
};

struct Machine {
  VirtualTime& time;
  FakeLink link;
  MemoryKeeper local;
  std::shared_ptr<SpeakingRight> right = std::make_shared<SpeakingRight>();
  std::unique_ptr<SharedKeeper> keeper;
  std::vector<std::string> told, heard, taken_up, acknowledged;  ///< ids
  std::vector<std::string> taken_up_texts;
  std::vector<std::string> texts, takeovers, log;
  std::vector<WatchState> adopted;
  std::vector<Answer> answers;  ///< in force here, in the order in which they took effect
  std::vector<std::string> muted_again;
  std::string name, direct;  ///< an address of its own, where the test gives it one
  bool direct_cut = false, well = true;
  std::string version = "1", feed = "own";
  Nanos unheard = 0;
  Nanos clock_off = 0;  ///< its wall clock, against the truth
  bool speaks = false, runs = true;
  std::shared_ptr<int> alive = std::make_shared<int>(0);

  Machine(const std::string& called, FakeLog& shared, VirtualTime& clock, Nanos alone_after = kMinute,
          bool begins_at_takeover = false, int reads = kSharedFormat)
      : time(clock), link(shared, clock), name(called) {
    local.on_notices = [this](std::vector<NoticeRecord> written) {
      for (const NoticeRecord& one : keeper->to_tell(std::move(written)))
        told.push_back(one.id), texts.push_back(one.text);
    };
    SharedKeeper::House house;
    house.adopt = [this](const std::vector<WatchState>& all) { adopted.insert(adopted.end(), all.begin(), all.end()); };
    house.hear = [this](const std::vector<NoticeRecord>& all) {
      for (const NoticeRecord& one : all) heard.push_back(one.id);
    };
    house.speak = house.take_up = [this](const std::vector<OpenDelivery>& open) {
      speaks = true;
      for (const OpenDelivery& one : open) {
        taken_up.push_back(one.row.notice_id + " " + std::string(to_string(one.row.state)));
        taken_up_texts.push_back(one.record.text);
      }
    };
    house.stand_by = [this] { speaks = false; };
    house.acknowledge = [this](const std::string& id, Timestamp) { acknowledged.push_back(id); };
    if (begins_at_takeover) house.begin_feed = [](const std::vector<SymbolState>&) {};
    house.took_over = [this](const Takeover& takeover) { takeovers.push_back(takeover.from + "/" + takeover.how); };
    house.take_answers = [this](const std::vector<Answer>& all) { take(all); };
    house.take_again = [this](const Answer& one) {
      std::erase_if(answers, [&](const Answer& each) { return each.id == one.id; });
      answers.push_back(one);
    };
    house.mute_again = [this](const Answer& one) { muted_again.push_back(one.id); };
    SharedKeeper::World world;
    world.boot = [this] { return time.steady(); };
    world.wall = [this] { return time.truth() + clock_off; };
    world.say = [this](LogLevel, std::string_view text) { log.emplace_back(text); };
    world.describe = [this] {
      return SharedMember{.name = {},
                          .version = version,
                          .feed = feed,
                          .list = "same",
                          .well = well,
                          .trouble = well ? "" : "hears no quotes",
                          .direct = direct};
    };
    world.ask_directly = [this](const std::string& address, const std::function<void(std::string)>& then) {
      ask(address, then);
    };
    world.list = [] { return std::string("[]"); };
    world.unheard = [this] { return unheard; };
    keeper = std::make_unique<SharedKeeper>(VoiceSettings{name, "mine", 2 * kSecond, alone_after, reads}, local, link,
                                            right, std::move(house), std::move(world));
    keeper->set_recipients([](const NoticeRecord&) { return std::vector<std::string>{"mail"}; });
    beat();
  }
  void beat() {
    time.after(kTick, [this, still = std::weak_ptr<int>(alive)] {
      if (still.expired()) return;
      if (runs) keeper->on_beat();
      beat();
    });
  }
  /// As the house does: what is known takes effect anew only after something new of the same stock.
  void take(const std::vector<Answer>& all) {
    std::set<std::string> touched;
    for (const Answer& one : all) {
      const auto known =
          std::find_if(answers.begin(), answers.end(), [&](const Answer& each) { return each.id == one.id; });
      if (known != answers.end() && !touched.contains(one.symbol)) continue;
      if (known == answers.end()) touched.insert(one.symbol);
      else answers.erase(known);
      answers.push_back(one);
    }
  }
  [[nodiscard]] std::vector<std::string> in_force() const {
    std::vector<std::string> ids;
    for (const Answer& one : answers) ids.push_back(one.id);
    return ids;
  }
  /// What came of it goes to `replies`: the id alone when it is in force, else with the reason.
  void give(const std::string& id, const char* symbol = "KLVN", AnswerKind kind = AnswerKind::mute) {
    Answer answer;
    answer.id = id, answer.kind = kind, answer.symbol = symbol, answer.pivot = Price{48'350'000};
    answer.who = "phone", answer.day = Date::of(2026, 11, 25);
    keeper->answers().give(
        answer, [this, id](const Status& done) { replies.push_back(done ? id : id + ": " + done.error().text); });
  }
  std::vector<std::string> replies;

  /// The machines that can be asked, by address.
  static std::map<std::string, Machine*>& at() {
    static std::map<std::string, Machine*> all;
    return all;
  }
  void open_door() { direct = "https://" + name + ":2390", at()[direct] = this; }
  void ask(const std::string& address, const std::function<void(std::string)>& then) {
    time.after(1'000'000, [this, address, then] {
      const auto other = at().find(address);
      const bool answers_it = other != at().end() && other->second->runs && !other->second->direct_cut && !direct_cut;
      if (!answers_it) return time.after(kSecond, [then] { then(""); });
      const Machine& there = *other->second;
      then(to_value(DirectAnswer{"mine", there.name, std::string(to_string(there.role())), there.well}));
    });
  }
  ~Machine() { at().erase(direct); }
  Machine(const Machine&) = delete;
  Machine& operator=(const Machine&) = delete;

  void die() { alive.reset(), runs = false, link.cut = true; }
  [[nodiscard]] Role role() const { return keeper->voice().role(); }
  [[nodiscard]] bool may_speak() const { return right->holds(time.steady()); }
  /// What has become of a message.
  void note(const std::string& id, DeliveryState state, int attempts = 1) {
    JournalBatch batch;
    batch.deliveries.push_back({.notice_id = id, .channel = "mail", .state = state, .attempts = attempts});
    if (state == DeliveryState::delivered) batch.deliveries.back().done = time.truth();
    keeper->submit(std::move(batch), {});
  }
  /// As a trade of that time has left it.
  static WatchState watch(Side side, int crossings, Timestamp at) {
    WatchState state;
    state.symbol = "KLVN", state.pivot = Price{48'350'000}, state.side = side;
    state.counts[0] = static_cast<std::uint16_t>(crossings);
    WatchPast last;
    last.by.time = at;
    if (at.is_set()) state.past = pack({last});
    return state;
  }
  /// As a trade of that time has left it, and nothing to tell.
  void change(Side side, int crossings, Timestamp at) {
    JournalBatch batch;
    batch.watches.push_back(watch(side, crossings, at));
    keeper->submit(std::move(batch), {});
  }
  void say(const std::string& id, Side side = Side::inside, int crossings = 1, Timestamp at = {}) {
    JournalBatch batch;
    NoticeRecord record;
    record.id = id, record.symbol = "KLVN", record.text = "text";
    record.notice.pivot = Price{48'350'000}, record.notice.side = side, record.notice.time = at;
    batch.notices.push_back(record);
    batch.watches.push_back(watch(side, crossings, at));
    keeper->submit(std::move(batch), {});
  }
};

struct Voices : testing::Test {
  FakeLog log;
  VirtualTime time{Timestamp{1'795'600'000'000'000'000}};
  Machine home{"home", log, time}, cloud{"cloud", log, time};

  /// The one watch, as the log has it.
  [[nodiscard]] WatchState watch_in_log() const {
    const LogEntry* const entry = log.find("brimwatch/mine/watch/KLVN/48.35");
    return entry == nullptr ? WatchState{} : *watch_from(entry->value, kSharedFormat);
  }
  /// Of one that is no machine here, and was alone.
  void upload_of_another(const std::string& id, Timestamp at) {
    const SharedKeys keys("mine");
    NoticeRecord record;
    record.id = id, record.symbol = "KLVN", record.notice.pivot = Price{48'350'000}, record.notice.time = at;
    log.decide(SharedWriter(keys, {"desk", 0}, 1).upload(record, {{.notice_id = id, .channel = "mail"}}).request);
  }
  void run(Nanos span) { time.run_until(time.truth() + span); }
  /// Home leads, cloud stands by.
  void begin() {
    cloud.runs = false;
    run(kSecond);
    cloud.runs = true;
    run(kSecond);
    ASSERT_EQ(home.role(), Role::speaking);
    ASSERT_EQ(cloud.role(), Role::standing_by);
  }
};

}  // namespace brimwatch::test
