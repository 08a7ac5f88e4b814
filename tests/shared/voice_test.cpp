// Several machines on one log, in virtual time: who speaks, what each of them tells, and what is in the log.
#include <gmock/gmock.h>

#include "fake_link.h"
#include "shared/shared_keeper.h"

namespace brimwatch {
namespace {

using simulation::VirtualTime;
using test::FakeLink;
using test::FakeLog;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

constexpr Nanos kTick = kSecond / 10;

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
  std::vector<std::string> texts, takeovers, log;
  std::vector<WatchState> adopted;
  bool speaks = false, runs = true;
  std::shared_ptr<int> alive = std::make_shared<int>(0);

  Machine(std::string name, FakeLog& shared, VirtualTime& clock, Nanos alone_after = kMinute)
      : time(clock), link(shared, clock) {
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
      for (const OpenDelivery& one : open)
        taken_up.push_back(one.row.notice_id + " " + std::string(to_string(one.row.state)));
    };
    house.stand_by = [this] { speaks = false; };
    house.acknowledge = [this](const std::string& id, Timestamp) { acknowledged.push_back(id); };
    house.took_over = [this](const Takeover& takeover) { takeovers.push_back(takeover.from + "/" + takeover.how); };
    SharedKeeper::World world;
    world.boot = [this] { return time.steady(); };
    world.wall = [this] { return time.truth(); };
    world.say = [this](LogLevel, std::string_view text) { log.emplace_back(text); };
    world.describe = [] { return SharedMember{.name = {}, .version = "1", .list = "same"}; };
    world.list = [] { return std::string("[]"); };
    keeper = std::make_unique<SharedKeeper>(VoiceSettings{std::move(name), "mine", 2 * kSecond, alone_after}, local, link,
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
  void die() { alive.reset(), runs = false, link.cut = true; }
  [[nodiscard]] Role role() const { return keeper->voice().role(); }
  [[nodiscard]] bool may_speak() const { return right->holds(time.steady()); }
  void say(const std::string& id, Side side = Side::inside, int crossings = 1) {
    JournalBatch batch;
    NoticeRecord record;
    record.id = id, record.symbol = "KLVN", record.text = "text";
    record.notice.pivot = Price{48'350'000}, record.notice.side = side;
    batch.notices.push_back(record);
    WatchState state;
    state.symbol = "KLVN", state.pivot = record.notice.pivot, state.side = side;
    state.counts[0] = static_cast<std::uint16_t>(crossings);
    batch.watches.push_back(state);
    keeper->submit(std::move(batch), {});
  }
};

struct Voices : testing::Test {
  FakeLog log;
  VirtualTime time{Timestamp{1'795'600'000'000'000'000}};
  Machine home{"home", log, time}, cloud{"cloud", log, time};

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

TEST_F(Voices, one_of_two_speaks) {
  run(2 * kSecond);
  EXPECT_NE(home.speaks, cloud.speaks);
  EXPECT_NE(home.may_speak(), cloud.may_speak());
  EXPECT_THAT(home.takeovers, IsEmpty());
  EXPECT_THAT(cloud.takeovers, IsEmpty());
}

TEST_F(Voices, what_one_tells_the_other_keeps_and_does_not_tell) {
  begin();
  cloud.say("2026-11-25/KLVN/48.35/crossed/1");
  home.say("2026-11-25/KLVN/48.35/crossed/1");
  run(kSecond);
  EXPECT_THAT(home.told, ElementsAre("2026-11-25/KLVN/48.35/crossed/1"));
  EXPECT_THAT(cloud.told, IsEmpty());
  EXPECT_THAT(cloud.heard, ElementsAre("2026-11-25/KLVN/48.35/crossed/1"));
  EXPECT_THAT(cloud.local.notices, ElementsAre("2026-11-25/KLVN/48.35/crossed/1"));
  EXPECT_EQ(cloud.keeper->shared_counters().told_by_others, 1U);
  ASSERT_THAT(cloud.adopted, SizeIs(1));
  EXPECT_EQ(cloud.adopted[0].side, Side::inside);
  EXPECT_NE(log.find("brimwatch/mine/delivery/2026-11-25/KLVN/48.35/crossed/1/mail"), nullptr);
}

TEST_F(Voices, a_standby_takes_over_what_a_dead_one_left_within_its_time) {
  begin();
  home.say("n1");
  run(kSecond);
  home.die();
  cloud.say("n2");  // in the time in which nobody speaks
  const Timestamp died = time.truth();
  while (!cloud.may_speak() && time.truth() < died + kMinute) run(kTick);
  EXPECT_LE(time.truth() - died, 2'500'000'000);
  run(kSecond);
  EXPECT_THAT(cloud.taken_up, ElementsAre("n1 pending"));
  EXPECT_THAT(cloud.told, ElementsAre("n2"));
  EXPECT_THAT(cloud.takeovers, ElementsAre("home/"));
}

TEST_F(Voices, what_a_standby_saw_long_ago_and_nobody_told_is_the_speakers_business) {
  begin();
  cloud.say("n1", Side::over, 3);
  run(kMinute);
  home.die();
  run(10 * kSecond);
  EXPECT_THAT(cloud.told, IsEmpty());
  EXPECT_EQ(cloud.keeper->shared_counters().dropped, 1U);
}

TEST_F(Voices, sides_and_counts_of_the_speaker_replace_the_standbys) {
  begin();
  home.say("n1", Side::inside, 1);
  run(kSecond);
  cloud.adopted.clear();
  cloud.say("n9", Side::over, 9);  // its own feed says otherwise
  run(kMinute);
  home.die();
  run(10 * kSecond);
  ASSERT_THAT(cloud.adopted, SizeIs(1));
  EXPECT_EQ(cloud.adopted[0].side, Side::inside);
  EXPECT_EQ(cloud.adopted[0].counts[0], 1);
}

TEST_F(Voices, one_that_stood_still_says_nothing_after_it_wakes) {
  begin();
  home.runs = false;  // stopped: no beat; its clock goes on
  run(5 * kSecond);
  EXPECT_FALSE(home.may_speak());
  EXPECT_TRUE(cloud.speaks);
  home.say("n1");
  home.runs = true;
  run(3 * kSecond);
  EXPECT_FALSE(home.may_speak());
  EXPECT_THAT(home.told, IsEmpty());
  EXPECT_EQ(home.role(), Role::standing_by);
}

TEST_F(Voices, never_do_two_have_the_right_at_once_while_the_log_decides) {
  begin();
  for (int round = 0; round < 20; ++round) {
    Machine& speaks = home.speaks ? home : cloud;
    speaks.runs = false;
    for (Nanos t = 0; t < 5 * kSecond; t += kTick) {
      run(kTick);
      ASSERT_FALSE(home.may_speak() && cloud.may_speak()) << "round " << round;
    }
    speaks.runs = true;
    run(kSecond);
  }
}

TEST_F(Voices, an_answer_that_was_lost_is_found_in_the_log_and_told_once) {
  begin();
  int lost = 0;
  home.link.fate = [&](const LogRequest& request) {
    const bool notice = !request.conditions.empty() && request.conditions.size() == 2;
    return notice && lost++ == 0 ? FakeLink::Fate::lost_after : FakeLink::Fate::arrives;
  };
  home.say("n1");
  run(3 * kSecond);
  EXPECT_EQ(lost, 2);
  EXPECT_THAT(home.told, ElementsAre("n1"));
  EXPECT_THAT(cloud.told, IsEmpty());
}

TEST_F(Voices, one_that_is_cut_off_speaks_alone_and_says_so_and_uploads_later) {
  begin();
  cloud.die();
  home.link.cut = true;
  home.say("n1");
  run(3 * kSecond);
  EXPECT_THAT(home.told, IsEmpty()) << "nobody knows yet who speaks";
  run(5 * kSecond);
  EXPECT_EQ(home.role(), Role::alone);
  EXPECT_THAT(home.told, ElementsAre("n1"));
  EXPECT_THAT(home.texts, ElementsAre(HasSubstr("home speaks alone; another machine may tell this too.")));
  EXPECT_EQ(log.find("brimwatch/mine/notice/n1"), nullptr);
  home.link.cut = false;
  run(10 * kSecond);
  EXPECT_EQ(home.role(), Role::speaking);
  ASSERT_NE(log.find("brimwatch/mine/notice/n1"), nullptr);
  EXPECT_THAT(log.find("brimwatch/mine/notice/n1")->value, testing::Not(HasSubstr("speaks alone")));
  EXPECT_EQ(home.keeper->shared_counters().uploaded, 1U);
}

TEST_F(Voices, a_standby_without_the_log_waits_before_it_speaks) {
  begin();
  home.die();
  cloud.link.cut = true;
  run(58 * kSecond);
  EXPECT_EQ(cloud.role(), Role::standing_by);
  cloud.say("n1");
  run(5 * kSecond);
  EXPECT_EQ(cloud.role(), Role::alone);
  EXPECT_THAT(cloud.told, ElementsAre("n1"));
}

TEST_F(Voices, a_machine_that_slept_does_not_think_the_log_was_away) {
  begin();
  cloud.runs = false;
  run(10 * kMinute);
  cloud.runs = true;
  run(kSecond);
  EXPECT_EQ(cloud.role(), Role::standing_by);
}

TEST_F(Voices, hands_over_in_well_under_a_second_and_leaves_it_to_the_other) {
  begin();
  bool done = false;
  home.keeper->voice().step_down("handed over", [&](bool well) { done = well; });
  EXPECT_FALSE(home.may_speak());
  run(kSecond / 2);
  EXPECT_TRUE(done);
  EXPECT_TRUE(cloud.may_speak());
  EXPECT_THAT(cloud.takeovers, ElementsAre("home/handed over"));
  run(kMinute);
  EXPECT_EQ(home.role(), Role::standing_by);
}

TEST_F(Voices, one_that_ends_leaves_at_once) {
  begin();
  bool left = false;
  home.keeper->voice().leave([&] { left = true; });
  run(kSecond / 2);
  EXPECT_TRUE(left);
  EXPECT_TRUE(cloud.may_speak());
  EXPECT_THAT(cloud.takeovers, ElementsAre("home/ended"));
  EXPECT_EQ(log.find("brimwatch/mine/member/home"), nullptr);
}

TEST_F(Voices, a_log_without_room_does_not_silence_who_speaks) {
  begin();
  log.set_full(true);
  home.say("n1");
  run(30 * kSecond);
  EXPECT_EQ(home.role(), Role::speaking);
  EXPECT_THAT(home.told, ElementsAre("n1"));
  EXPECT_THAT(home.texts, ElementsAre(HasSubstr("speaks alone")));
  log.set_full(false);
  run(30 * kSecond);
  EXPECT_NE(log.find("brimwatch/mine/notice/n1"), nullptr);
}

TEST_F(Voices, acknowledgements_reach_every_machine_whoever_speaks) {
  begin();
  home.say("n1");
  run(kSecond);
  cloud.keeper->acknowledge("n1", time.truth());
  run(2 * kSecond);
  EXPECT_THAT(home.acknowledged, ElementsAre("n1"));
  EXPECT_THAT(cloud.acknowledged, IsEmpty()) << "it knows";
}

TEST_F(Voices, who_cannot_read_the_log_never_leads) {
  LogRequest request;
  request.writes.push_back({"brimwatch/mine/notice/n1", R"({"v":2})"});
  log.decide(request);
  run(5 * kSecond);
  EXPECT_FALSE(home.speaks || cloud.speaks);
  EXPECT_THAT(home.keeper->row().trouble, HasSubstr("this machine does not lead"));
}

TEST_F(Voices, writes_the_oldest_form_that_all_members_read) {
  begin();
  run(2 * kSecond);
  EXPECT_EQ(home.keeper->voice().view().format(), kSharedFormat);
  EXPECT_THAT(home.keeper->voice().view().members(), SizeIs(2));
}

TEST_F(Voices, a_commit_of_one_that_does_not_lead_changes_nothing) {
  begin();
  home.say("n1");
  run(kSecond);
  home.runs = false;
  run(4 * kSecond);
  ASSERT_TRUE(cloud.speaks);
  // Home has not noticed: what it writes now is refused by the log.
  home.say("n2", Side::over);
  run(kSecond / 2);
  EXPECT_EQ(log.find("brimwatch/mine/notice/n2"), nullptr);
  EXPECT_THAT(log.find("brimwatch/mine/watch/KLVN/48.35")->value, HasSubstr("\"side\":2"));
  EXPECT_EQ(home.keeper->shared_counters().fenced, 1U);
  EXPECT_EQ(home.role(), Role::standing_by);
}

TEST_F(Voices, what_is_old_goes_from_the_log) {
  LogRequest request;
  request.writes.push_back({"brimwatch/mine/ack/2026-01-02/KLVN/1/crossed/1",
                            R"({"v":1,"notice":"2026-01-02/KLVN/1/crossed/1","by":"home","at":1})"});
  log.decide(request);
  begin();
  run(kSecond);
  ASSERT_NE(log.find("brimwatch/mine/ack/2026-01-02/KLVN/1/crossed/1"), nullptr) << "the day is not known yet";
  JournalBatch batch;
  batch.day = Date::of(2026, 11, 25);
  home.keeper->submit(batch, {});
  run(kSecond);
  EXPECT_EQ(log.find("brimwatch/mine/ack/2026-01-02/KLVN/1/crossed/1"), nullptr);
}

TEST_F(Voices, states_are_shared_only_where_somebody_begins_with_them) {
  begin();
  JournalBatch batch;
  batch.symbols.push_back({});
  batch.symbols.back().symbol = "KLVN";
  home.keeper->submit(batch, {});
  run(2 * kMinute);
  EXPECT_EQ(log.find("brimwatch/mine/state/KLVN"), nullptr);
}

/// An empty house and a log: what costs a standby that looks five times a second.
TEST_F(Voices, asks_the_log_a_bounded_number_of_times) {
  begin();
  const std::uint64_t before = cloud.link.asked;
  run(kMinute);
  EXPECT_LE(cloud.link.asked - before, 60U * 5U + 60U * 2U);
}

}  // namespace
}  // namespace brimwatch
