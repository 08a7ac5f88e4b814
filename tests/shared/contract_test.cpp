// What a shared log must do, asked of the fake that the simulated world stands on and of a real etcd (Debian's) alike: so
// that what is proved over the fake holds over etcd.
#include <gmock/gmock.h>

#include <condition_variable>
#include <cstdlib>
#include <deque>
#include <mutex>
#include <thread>

#include "adapters/etcd/etcd_log.h"
#include "etcd_server.h"
#include "fake_log.h"

namespace brimwatch {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;
using testing::SizeIs;

/// One log, asked by several at once.
class LogSubject {
 public:
  virtual ~LogSubject() = default;
  virtual LogAnswer ask(const LogRequest& request) = 0;
  /// Time goes on until the lease's key has gone, or far too long.
  virtual bool wait_for_end_of(const std::string& key) = 0;
  /// Forgets what was before that revision.
  virtual bool compact(Revision now) = 0;
  /// Another log of the same kind, with little room; and all of its room is used up.
  virtual std::unique_ptr<LogSubject> small_one() = 0;
  virtual bool use_up() = 0;
};

class FakeSubject final : public LogSubject {
 public:
  LogAnswer ask(const LogRequest& request) override {
    const std::lock_guard lock(mutex_);
    return log_.decide(request);
  }
  bool wait_for_end_of(const std::string& key) override {
    for (Nanos now = 0; now < 10 * kSecond && log_.find(key) != nullptr; now += kSecond / 10) log_.advance(now);
    return log_.find(key) == nullptr;
  }
  bool compact(Revision) override { return log_.compact(), true; }
  std::unique_ptr<LogSubject> small_one() override { return std::make_unique<FakeSubject>(); }
  bool use_up() override { return log_.set_full(true), true; }

 private:
  std::mutex mutex_;
  test::FakeLog log_;
};

SharedSettings settings_of(const std::string& address) {
  SharedSettings settings;
  settings.name = "home", settings.house = "mine", settings.insecure_loopback = true;
  settings.etcd = {"http://127.0.0.1:1", address};  // nobody is at the first
  return settings;
}

class EtcdSubject final : public LogSubject {
 public:
  /// `own`: this one's alone; else the one of all tests.
  explicit EtcdSubject(std::unique_ptr<test::EtcdServer> own = nullptr) : own_(std::move(own)) {}
  LogAnswer ask(const LogRequest& request) override {
    const EtcdWorld world{{}, [](const SecretSource&) -> Result<Secret> { return fail("none"); }};
    LogRequest patient = request;
    patient.patience = 10 * kSecond;
    return ask_etcd(settings_of(server().address()), world, patient);
  }
  bool wait_for_end_of(const std::string& key) override {
    LogRequest look;
    look.ranges.push_back({key});
    for (int i = 0; i < 50'000; ++i) {
      const LogAnswer answer = ask(look);
      if (answer.is_done() && answer.pages.at(0).entries.empty()) return true;
    }
    return false;
  }
  bool compact(Revision now) override {
    const std::string command =
        "etcdctl --endpoints " + server().address() + " compaction " + std::to_string(now) + " >/dev/null 2>&1";
    return std::system(command.c_str()) == 0;  // NOLINT(concurrency-mt-unsafe)
  }
  std::unique_ptr<LogSubject> small_one() override {
    const std::vector<std::string> little{"--quota-backend-bytes", "1000000"};
    auto one = std::make_unique<EtcdSubject>(std::make_unique<test::EtcdServer>(little));
    EXPECT_TRUE(one->is_up());
    return one;
  }
  bool use_up() override {
    LogRequest more;
    for (int i = 0; i < 100; ++i) {
      more.writes = {{"junk/" + std::to_string(i), std::string(100'000, 'x')}};
      if (ask(more).outcome == LogAnswer::Outcome::refused) return true;
    }
    return false;
  }
  [[nodiscard]] bool is_there() const { return !server().address().empty(); }
  /// It has answered once.
  bool is_up() {
    for (int i = 0; i < 20'000; ++i)
      if (ask({}).is_done()) return true;
    return false;
  }

 private:
  [[nodiscard]] test::EtcdServer& server() const {
    static test::EtcdServer one;
    return own_ == nullptr ? one : *own_;
  }
  std::unique_ptr<test::EtcdServer> own_;
};

struct Contract : testing::TestWithParam<bool> {
  std::unique_ptr<LogSubject> log;

  void SetUp() override {
    if (!GetParam()) return void(log = std::make_unique<FakeSubject>());
    auto etcd = std::make_unique<EtcdSubject>();
    if (!etcd->is_there()) GTEST_SKIP() << "there is no etcd on this machine (Debian: etcd-server)";
    ASSERT_TRUE(etcd->is_up());
    log = std::move(etcd);
    LogRequest empty;
    LogWrite all{.key = "a", .value = {}};
    all.remove = true, all.until = "z";
    empty.writes = {all};
    ASSERT_TRUE(log->ask(empty).is_done());
  }

  static LogRequest put(const std::string& key, const std::string& value, std::int64_t lease = 0) {
    LogRequest request;
    request.writes.push_back({key, value, lease});
    request.ranges.push_back({key});
    return request;
  }
  LogAnswer read(LogRange range) {
    LogRequest request;
    request.ranges.push_back(std::move(range));
    return log->ask(request);
  }
  std::int64_t grant() {
    LogRequest request;
    request.kind = LogRequest::Kind::grant, request.ttl = kSecond;
    return log->ask(request).lease;
  }
  static std::vector<std::string> keys_of(const LogPage& page) {
    std::vector<std::string> keys;
    for (const LogEntry& entry : page.entries) keys.push_back(entry.key);
    return keys;
  }
};

TEST_P(Contract, reads_in_a_transaction_what_it_has_just_written) {
  const LogAnswer answer = log->ask(put("a", std::string("any bytes: \0\xff\n", 14)));
  ASSERT_TRUE(answer.is_done());
  EXPECT_TRUE(answer.held);
  ASSERT_THAT(answer.pages.at(0).entries, SizeIs(1));
  const LogEntry& entry = answer.pages[0].entries[0];
  EXPECT_EQ(entry.value, std::string("any bytes: \0\xff\n", 14));
  EXPECT_EQ(entry.created, answer.revision);
  EXPECT_EQ(entry.changed, answer.revision);
  const LogAnswer again = log->ask(put("a", "other"));
  EXPECT_EQ(again.revision, answer.revision + 1);
  EXPECT_GT(answer.term, 0U);
  EXPECT_EQ(again.term, answer.term) << "nobody was elected meanwhile";
  EXPECT_EQ(again.pages.at(0).entries.at(0).created, answer.revision);
  EXPECT_EQ(again.pages.at(0).entries.at(0).changed, again.revision);
}

TEST_P(Contract, writes_nothing_where_a_condition_does_not_hold_and_reads_all_the_same) {
  const Revision made = log->ask(put("a", "one")).revision;
  LogRequest request = put("a", "two");
  request.conditions = {{"a", made}, {"b", 7}};
  const LogAnswer answer = log->ask(request);
  ASSERT_TRUE(answer.is_done());
  EXPECT_FALSE(answer.held);
  EXPECT_EQ(answer.revision, made);
  EXPECT_EQ(answer.pages.at(0).entries.at(0).value, "one");
  request.conditions = {{"a", made}, {"b", 0}};
  EXPECT_TRUE(log->ask(request).held);
}

TEST_P(Contract, lets_one_of_many_create_a_key) {
  for (int round = 0; round < 20; ++round) {
    std::atomic<int> won{0};
    std::vector<std::thread> claimants;
    for (int i = 0; i < 4; ++i)
      claimants.emplace_back([&, i] {
        LogRequest request = put("round/" + std::to_string(round), std::to_string(i));
        request.conditions.push_back({request.writes[0].key, 0});
        const LogAnswer answer = log->ask(request);
        if (answer.is_done() && answer.held) ++won;
      });
    for (std::thread& one : claimants) one.join();
    EXPECT_EQ(won, 1);
  }
}

TEST_P(Contract, gives_what_has_changed_since_a_revision) {
  log->ask(put("h/a", "1"));
  const Revision seen = log->ask(put("h/b", "1")).revision;
  log->ask(put("h/c", "1"));
  log->ask(put("h/a", "2"));
  log->ask(put("i", "1"));
  EXPECT_THAT(keys_of(read({"h/", "h0", seen + 1}).pages.at(0)), ElementsAre("h/a", "h/c"));
  EXPECT_THAT(keys_of(read({"h/", "h0"}).pages.at(0)), ElementsAre("h/a", "h/b", "h/c"));
}

TEST_P(Contract, gives_pages_of_one_moment) {
  for (const char* key : {"h/a", "h/b", "h/c"}) log->ask(put(key, "1"));
  const LogAnswer first = read({"h/", "h0", 0, 0, 2});
  EXPECT_THAT(keys_of(first.pages.at(0)), ElementsAre("h/a", "h/b"));
  EXPECT_TRUE(first.pages.at(0).more);
  log->ask(put("h/c", "2"));
  log->ask(put("h/d", "1"));
  const LogAnswer second = read({std::string("h/b") + '\0', "h0", 0, first.revision, 2});
  ASSERT_THAT(keys_of(second.pages.at(0)), ElementsAre("h/c"));
  EXPECT_EQ(second.pages.at(0).entries.at(0).value, "1");
  EXPECT_FALSE(second.pages.at(0).more);
}

/// A page of a moment that the log has forgotten since is refused: whoever asked begins anew.
TEST_P(Contract, refuses_a_page_of_a_moment_that_it_has_forgotten) {
  for (const char* key : {"h/a", "h/b", "h/c"}) log->ask(put(key, "1"));
  const LogAnswer first = read({"h/", "h0", 0, 0, 2});
  const Revision later = log->ask(put("h/c", "2")).revision;
  ASSERT_TRUE(log->compact(later));
  const LogAnswer second = read({std::string("h/b") + '\0', "h0", 0, first.revision, 2});
  EXPECT_EQ(second.outcome, LogAnswer::Outcome::refused);
  EXPECT_THAT(second.words, testing::HasSubstr("required revision has been compacted"));
  EXPECT_THAT(keys_of(read({"h/", "h0", first.revision + 1}).pages.at(0)), ElementsAre("h/c")) << "changes are there";
}

TEST_P(Contract, removes_one_key_or_a_range) {
  for (const char* key : {"h/a", "h/b", "h/c"}) log->ask(put(key, "1"));
  LogRequest request;
  LogWrite remove{.key = "h/a", .value = {}};
  remove.remove = true;
  request.writes = {remove};
  ASSERT_TRUE(log->ask(request).held);
  EXPECT_THAT(keys_of(read({"h/", "h0"}).pages.at(0)), ElementsAre("h/b", "h/c"));
  request.writes[0].key = "h/", request.writes[0].until = "h/c";
  ASSERT_TRUE(log->ask(request).held);
  EXPECT_THAT(keys_of(read({"h/", "h0"}).pages.at(0)), ElementsAre("h/c"));
}

TEST_P(Contract, lets_a_key_go_with_its_lease) {
  const std::int64_t lease = grant();
  ASSERT_NE(lease, 0);
  EXPECT_EQ(log->ask(put("leader", "home", lease)).pages.at(0).entries.at(0).lease, lease);
  LogRequest renew;
  renew.kind = LogRequest::Kind::renew, renew.lease = lease;
  EXPECT_EQ(log->ask(renew).ttl, kSecond);
  EXPECT_TRUE(log->wait_for_end_of("leader"));
  EXPECT_EQ(log->ask(renew).ttl, 0) << "a lease that has ended cannot be renewed";
  EXPECT_EQ(log->ask(put("leader", "home", lease)).outcome, LogAnswer::Outcome::refused);
}

TEST_P(Contract, ends_a_lease_at_once_when_asked) {
  const std::int64_t lease = grant();
  log->ask(put("leader", "home", lease));
  LogRequest revoke;
  revoke.kind = LogRequest::Kind::revoke, revoke.lease = lease;
  EXPECT_TRUE(log->ask(revoke).is_done());
  EXPECT_THAT(read({"leader"}).pages.at(0).entries, IsEmpty());
  EXPECT_EQ(log->ask(revoke).outcome, LogAnswer::Outcome::refused);
}

TEST_P(Contract, takes_a_commit_of_the_size_that_is_written) {
  LogRequest request;
  for (std::size_t i = 0; i < kLogWritesMost; ++i)
    request.writes.push_back({"many/" + std::to_string(i), std::string(kLogBytesMost / kLogWritesMost - 20, 'x')});
  EXPECT_TRUE(log->ask(request).held);
}

/// What stays possible: to read, to renew and end a lease, to remove.
TEST_P(Contract, without_room_takes_nothing_in_and_lets_everything_go) {
  const auto small = log->small_one();
  LogRequest lease, renew, removal, both = put("b", "1");
  lease.kind = LogRequest::Kind::grant, lease.ttl = 60 * kSecond;
  const std::int64_t granted = small->ask(lease).lease;
  ASSERT_NE(granted, 0);
  ASSERT_TRUE(small->ask(put("leader", "home", granted)).held);
  ASSERT_TRUE(small->ask(put("a", "1")).held);
  ASSERT_TRUE(small->use_up());
  const auto is_refused = [&](const LogRequest& request) {
    const LogAnswer answer = small->ask(request);
    return answer.outcome == LogAnswer::Outcome::refused && answer.words.find("space exceeded") != std::string::npos;
  };
  EXPECT_TRUE(is_refused(lease));
  EXPECT_TRUE(is_refused(put("a", "2")));
  LogWrite remove{.key = "a", .value = {}};
  remove.remove = true, removal.writes = {remove};
  both.writes.insert(both.writes.begin(), remove);
  EXPECT_TRUE(is_refused(both)) << "a removal does not carry a write in";
  both.conditions = {{"leader", 7}};
  EXPECT_TRUE(is_refused(both)) << "whether its conditions hold or not";
  LogRequest look;
  look.ranges.push_back({"a"});
  EXPECT_THAT(small->ask(look).pages.at(0).entries, SizeIs(1));
  renew.kind = LogRequest::Kind::renew, renew.lease = granted;
  EXPECT_EQ(small->ask(renew).ttl, 60 * kSecond);
  EXPECT_TRUE(small->ask(removal).held);
  EXPECT_THAT(small->ask(look).pages.at(0).entries, IsEmpty());
  renew.kind = LogRequest::Kind::revoke;
  EXPECT_TRUE(small->ask(renew).is_done());
  look.ranges[0].key = "leader";
  EXPECT_THAT(small->ask(look).pages.at(0).entries, IsEmpty());
}

INSTANTIATE_TEST_SUITE_P(Fake, Contract, testing::Values(false));
INSTANTIATE_TEST_SUITE_P(Etcd, Contract, testing::Values(true));

/// A loop of its own: what is posted runs when it is asked to.
struct SmallLoop {
  std::mutex mutex;
  std::condition_variable changed;
  std::deque<std::function<void()>> posted;

  void post(std::function<void()> what) {
    const std::lock_guard lock(mutex);
    posted.push_back(std::move(what));
    changed.notify_all();
  }
  bool run_one() {
    std::unique_lock lock(mutex);
    if (!changed.wait_for(lock, std::chrono::seconds(20), [this] { return !posted.empty(); })) return false;
    const auto what = std::move(posted.front());
    posted.pop_front();
    lock.unlock();
    what();
    return true;
  }
};

TEST(EtcdLogTest, answers_on_the_callers_thread_and_says_why_where_nobody_is_there) {
  SmallLoop loop;
  EtcdLog log(settings_of("http://127.0.0.1:1"), {[&](auto what) { loop.post(std::move(what)); }, {}});
  const auto here = std::this_thread::get_id();
  LogAnswer answer;
  std::thread::id there;
  log.ask({}, [&](LogAnswer came) { answer = std::move(came), there = std::this_thread::get_id(); });
  ASSERT_TRUE(loop.run_one());
  EXPECT_EQ(there, here);
  EXPECT_EQ(answer.outcome, LogAnswer::Outcome::unknown);
  EXPECT_THAT(answer.words, testing::StartsWith("does not answer: "));
  EXPECT_TRUE(log.stop(std::chrono::seconds(20)));
}

}  // namespace
}  // namespace brimwatch
