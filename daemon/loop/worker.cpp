#include "loop/worker.h"

#include <algorithm>
#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <condition_variable>
#include <cstdint>
#include <deque>
#include <mutex>
#include <system_error>
#include <thread>
#include <utility>
#include <vector>

namespace brimwatch {

namespace asio = boost::asio;

/// What loop and worker have in common; it lives as long as the thread does.
struct Worker::Shared {
  struct Waiting {
    std::uint64_t number = 0;
    Job job;
  };

  std::mutex mutex;
  std::condition_variable changed;
  std::deque<Waiting> queue;
  std::function<void(std::uint64_t, Answer)>
      hand_over;  ///< called under the lock; taken away when nobody listens any more
  bool in_hand = false, stopping = false, ended = false;

  void work() {
    std::unique_lock lock(mutex);
    for (;;) {
      changed.wait(lock, [this] { return stopping || !queue.empty(); });
      if (stopping) break;
      Waiting next = std::move(queue.front());
      queue.pop_front();
      in_hand = true;
      lock.unlock();
      Answer answer = next.job();
      next.job = nullptr;  // what it held goes on this thread, and without the lock
      lock.lock();
      in_hand = false;
      if (hand_over) hand_over(next.number, std::move(answer));
    }
    ended = true;
    changed.notify_all();
  }
};

/// The loop's side: who waits for what, and until when.
struct Worker::Desk : std::enable_shared_from_this<Worker::Desk> {
  struct Open {
    std::uint64_t number = 0;
    std::chrono::steady_clock::time_point until;
    Answer late;
  };

  Desk(asio::io_context& io, Limits with, std::shared_ptr<Shared> worker)
      : loop(io), limits(with), shared(std::move(worker)), timer(io) {}

  /// False: the system gives no more threads.
  bool begin_thread() {
    if (thread.joinable()) return true;
    try {
      thread = std::thread([worker = shared] { worker->work(); });
    } catch (const std::system_error&) {
      return false;
    }
    return true;
  }

  void listen() {
    shared->hand_over = [weak = weak_from_this(), &io = loop](std::uint64_t number, Answer answer) {
      asio::post(io, [weak, number, answer = std::move(answer)] {
        if (const auto desk = weak.lock()) desk->on_answer(number, answer);
      });
    };
  }

  void on_answer(std::uint64_t number, const Answer& answer) {
    const auto found = std::find_if(open.begin(), open.end(), [&](const Open& one) { return one.number == number; });
    if (found == open.end()) return;  // it came too late, and that has been said
    open.erase(found);
    if (answer) answer();
  }

  void wait_for_deadline() {
    if (open.empty()) return;
    timer.expires_at(open.front().until);
    timer.async_wait([weak = weak_from_this()](const boost::system::error_code& error) {
      const auto desk = weak.lock();
      if (!error && desk) desk->on_deadline();
    });
  }

  void on_deadline() {
    std::vector<Answer> late;
    // Since all have the same time, those that wait longest stand first.
    while (!open.empty() && open.front().until <= timer.expiry()) {
      forget(open.front().number);
      late.push_back(std::move(open.front().late));
      open.pop_front();
    }
    wait_for_deadline();
    for (const Answer& one : late)
      if (one) one();
  }

  void forget(std::uint64_t number) const {
    const std::lock_guard lock(shared->mutex);
    std::erase_if(shared->queue, [&](const Shared::Waiting& one) { return one.number == number; });
  }

  asio::io_context& loop;
  Limits limits;
  std::shared_ptr<Shared> shared;
  asio::steady_timer timer;
  std::deque<Open> open;
  std::uint64_t last = 0;
  std::thread thread;  ///< from the first job on
};

Worker::Worker(asio::io_context& loop, Limits limits)
    : shared_(std::make_shared<Shared>()), desk_(std::make_shared<Desk>(loop, limits, shared_)) {
  desk_->listen();
}

Worker::~Worker() { stop(std::chrono::milliseconds{0}); }

bool Worker::start(Job job, Answer late) {
  const std::uint64_t number = ++desk_->last;
  {
    const std::lock_guard lock(shared_->mutex);
    if (shared_->stopping || shared_->queue.size() >= desk_->limits.waiting_most) return false;
    shared_->queue.push_back({number, std::move(job)});
    shared_->changed.notify_all();
  }
  if (!desk_->begin_thread()) return desk_->forget(number), false;
  desk_->open.push_back({number, std::chrono::steady_clock::now() + desk_->limits.deadline, std::move(late)});
  if (desk_->open.size() == 1) desk_->wait_for_deadline();
  return true;
}

bool Worker::is_busy() const {
  const std::lock_guard lock(shared_->mutex);
  return shared_->in_hand || !shared_->queue.empty();
}

bool Worker::stop(std::chrono::milliseconds most) {
  desk_->timer.cancel();
  desk_->open.clear();
  std::unique_lock lock(shared_->mutex);
  shared_->stopping = true;
  shared_->hand_over = nullptr;
  shared_->queue.clear();
  shared_->changed.notify_all();
  if (!desk_->thread.joinable()) return true;
  const bool ended = shared_->changed.wait_for(lock, most, [this] { return shared_->ended; });
  lock.unlock();
  ended ? desk_->thread.join() : desk_->thread.detach();
  return ended;
}

}  // namespace brimwatch
