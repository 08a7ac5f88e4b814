#include "adapters/etcd/etcd_log.h"

#include <condition_variable>
#include <deque>
#include <mutex>
#include <thread>
#include <utility>

#include "adapters/etcd/connection.h"

namespace brimwatch {

/// A thread that asks one request after the other.
class EtcdLog::Lane {
 public:
  Lane(const SharedSettings& settings, const EtcdWorld& world) : shared_(std::make_shared<Shared>(settings, world)) {
    thread_ = std::thread([shared = shared_] { shared->work(); });
  }
  ~Lane() { stop(std::chrono::milliseconds{0}); }
  Lane(const Lane&) = delete;
  Lane& operator=(const Lane&) = delete;

  void ask(LogRequest request, Then then) {
    const std::lock_guard lock(shared_->mutex);
    if (shared_->stopping || shared_->queue.size() >= kWaitingMost) {
      shared_->post([then = std::move(then)] {
        LogAnswer answer;
        answer.words = "was not asked: too much waits for it";
        then(std::move(answer));
      });
      return;
    }
    shared_->queue.push_back({std::move(request), std::move(then)});
    shared_->changed.notify_all();
  }

  bool stop(std::chrono::milliseconds most) {
    if (!thread_.joinable()) return true;
    std::unique_lock lock(shared_->mutex);
    shared_->stopping = true;
    shared_->changed.notify_all();
    const bool ended = shared_->changed.wait_for(lock, most, [&] { return shared_->ended; });
    shared_->post = [](const std::function<void()>&) {};
    lock.unlock();
    if (ended) thread_.join();
    else thread_.detach();
    return ended;
  }

 private:
  struct Asked {
    LogRequest request;
    Then then;
  };
  struct Shared {
    Shared(const SharedSettings& settings, const EtcdWorld& world) : post(world.post), connection(settings, world) {}

    void work() {
      std::unique_lock lock(mutex);
      for (;;) {
        changed.wait(lock, [this] { return stopping || !queue.empty(); });
        if (queue.empty()) break;
        Asked one = std::move(queue.front());
        queue.pop_front();
        lock.unlock();
        LogAnswer answer = ask_safely(one.request);
        lock.lock();
        post([then = std::move(one.then), answer = std::move(answer)] { then(answer); });
      }
      ended = true;
      changed.notify_all();
    }
    LogAnswer ask_safely(const LogRequest& request) {
      try {
        return connection.ask(request);
      } catch (const std::exception& problem) {
        LogAnswer answer;
        answer.words = std::string("was not asked: ") + problem.what();
        return answer;
      }
    }

    std::mutex mutex;
    std::condition_variable changed;
    std::deque<Asked> queue;
    std::function<void(std::function<void()>)> post;
    bool stopping = false, ended = false;
    EtcdConnection connection;  ///< of the thread alone
  };
  std::shared_ptr<Shared> shared_;
  std::thread thread_;
};

EtcdLog::EtcdLog(const SharedSettings& settings, EtcdWorld world)
    : renewals_(std::make_unique<Lane>(settings, world)), rest_(std::make_unique<Lane>(settings, world)) {}
EtcdLog::~EtcdLog() = default;

void EtcdLog::ask(LogRequest request, Then then) {
  const bool renews = request.kind == LogRequest::Kind::grant || request.kind == LogRequest::Kind::renew;
  (renews ? renewals_ : rest_)->ask(std::move(request), std::move(then));
}

bool EtcdLog::stop(std::chrono::milliseconds most) {
  const bool renewals = renewals_->stop(most);
  return rest_->stop(most) && renewals;
}

LogAnswer ask_etcd(const SharedSettings& settings, const EtcdWorld& world, const LogRequest& request) {
  return EtcdConnection(settings, world).ask(request);
}

}  // namespace brimwatch
