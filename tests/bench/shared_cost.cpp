// shared_cost ADDRESS...: what the shared keeper adds to a notice, against an etcd that runs (scripts/etcd-try): the time
// from its batch to the local keeper's, one notice at a time; beside it one plain write of etcd's, of the same size,
// through the same connection.
#include <algorithm>
#include <chrono>
#include <condition_variable>
#include <cstdio>
#include <deque>
#include <mutex>

#include "adapters/etcd/connection.h"
#include "shared/shared_keeper.h"

namespace {

using namespace brimwatch;  // NOLINT(google-build-using-namespace): this is the program

constexpr int kNotices = 500;

Nanos now() { return std::chrono::nanoseconds(std::chrono::steady_clock::now().time_since_epoch()).count(); }

class Loop {
 public:
  void post(std::function<void()> what) {
    const std::lock_guard lock(mutex_);
    posted_.push_back(std::move(what));
    changed_.notify_all();
  }
  void run_until(const std::function<bool()>& done, const std::function<void()>& beat) {
    while (!done()) {
      std::unique_lock lock(mutex_);
      changed_.wait_for(lock, std::chrono::milliseconds(50), [this] { return !posted_.empty(); });
      std::deque<std::function<void()>> all = std::exchange(posted_, {});
      lock.unlock();
      for (const auto& what : all) what();
      beat();
    }
  }

 private:
  std::mutex mutex_;
  std::condition_variable changed_;
  std::deque<std::function<void()>> posted_;
};

class Counting final : public BatchKeeper {
 public:
  int batches = 0;
  void set_recipients(Recipients) override {}
  void submit(JournalBatch batch, Done) override { batches += static_cast<int>(batch.notices.size()); }
  [[nodiscard]] WriterCounters counters() const override { return {}; }
  [[nodiscard]] std::size_t waiting() const override { return 0; }
};

void print(const char* what, std::vector<Nanos> spans) {
  std::sort(spans.begin(), spans.end());
  std::printf("%-34s median %.2f ms, p99 %.2f ms, worst %.2f ms of %zu\n", what,
              static_cast<double>(spans[spans.size() / 2]) / 1e6,
              static_cast<double>(spans[spans.size() * 99 / 100]) / 1e6, static_cast<double>(spans.back()) / 1e6,
              spans.size());
}

JournalBatch batch_of(int number) {
  NoticeRecord record;
  record.id = "2026-11-25/KLVN/48.35/crossed/" + std::to_string(now()) + std::to_string(number);
  record.symbol = "KLVN", record.title = "KLVN crossed 48.35", record.text = std::string(400, 'x');
  JournalBatch batch;
  batch.notices.push_back(std::move(record));
  return batch;
}

}  // namespace

int main(int count, char** words) {
  SharedSettings settings;
  settings.name = "cost", settings.house = "cost", settings.insecure_loopback = true;
  for (int i = 1; i < count; ++i) settings.etcd.emplace_back(words[i]);
  if (settings.etcd.empty()) return std::puts("usage: shared_cost ADDRESS..."), 2;
  Loop loop;
  const EtcdWorld world{[&](std::function<void()> what) { loop.post(std::move(what)); },
                        [](const SecretSource&) -> Result<Secret> { return fail("none"); }};
  EtcdLog log(settings, world);
  Counting local;
  SharedKeeper::House house;
  house.adopt = [](const auto&) {}, house.hear = [](const auto&) {}, house.speak = house.take_up = [](const auto&) {};
  house.stand_by = [] {}, house.acknowledge = [](const auto&, Timestamp) {}, house.took_over = [](const auto&) {};
  SharedKeeper keeper({"cost", "cost"}, local, log, std::make_shared<SpeakingRight>(), house,
                      {now, [] { return Timestamp{now()}; }, [](LogLevel, std::string_view) {},
                       [] { return SharedMember{}; }, [] { return std::string("-"); }});
  keeper.set_recipients([](const NoticeRecord&) { return std::vector<std::string>{"mail", "hook"}; });
  const auto beat = [&] { keeper.on_beat(); };
  loop.run_until([&] { return keeper.voice().leads(); }, beat);
  std::vector<Nanos> shared, plain;
  for (int i = 0; i < kNotices; ++i) {
    const Nanos begun = now();
    const int before = local.batches;
    keeper.submit(batch_of(i), {});
    loop.run_until([&] { return local.batches > before; }, beat);
    shared.push_back(now() - begun);
  }
  EtcdConnection connection(settings, world);
  for (int i = 0; i < kNotices; ++i) {
    LogRequest request;
    request.writes.push_back({"brimwatch/cost/plain", std::string(900, 'x')});
    const Nanos begun = now();
    if (!connection.ask(request).is_done()) return std::puts("etcd does not answer"), 1;
    plain.push_back(now() - begun);
  }
  print("a notice, to the local keeper", std::move(shared));
  print("one plain write of etcd", std::move(plain));
  return 0;
}
