#include "dispatch/runner.h"

#include <condition_variable>
#include <deque>
#include <exception>
#include <mutex>

namespace brimwatch {

struct ChannelRunner::Shared {
  std::unique_ptr<Channel> channel;
  std::mutex mutex;
  std::condition_variable changed;
  std::deque<Send> queue;
  Done done;  ///< taken away when nobody waits for results any more
  bool stopping = false, ended = false;
};

namespace {

Delivery send_safely(Channel& channel, const Message& message) {
  try {
    return channel.send(message);
  } catch (const std::exception& problem) {
    return {Outcome::unknown, std::string("internal error: ") + problem.what(), {}};
  }
}

}  // namespace

ChannelRunner::ChannelRunner(std::unique_ptr<Channel> channel, Done done) : shared_(std::make_shared<Shared>()) {
  shared_->channel = std::move(channel);
  shared_->done = std::move(done);
  thread_ = std::thread([shared = shared_] { work(shared); });
}

ChannelRunner::~ChannelRunner() { stop(std::chrono::milliseconds{0}); }

bool ChannelRunner::submit(Send send) {
  const std::lock_guard lock(shared_->mutex);
  if (shared_->stopping || shared_->queue.size() >= kQueueMost) return false;
  shared_->queue.push_back(std::move(send));
  shared_->changed.notify_all();
  return true;
}

void ChannelRunner::work(const std::shared_ptr<Shared>& shared) {
  std::unique_lock lock(shared->mutex);
  for (;;) {
    shared->changed.wait(lock, [&] { return shared->stopping || !shared->queue.empty(); });
    if (shared->stopping) break;
    const Send send = std::move(shared->queue.front());
    shared->queue.pop_front();
    lock.unlock();
    Delivery delivery = send_safely(*shared->channel, send.message);
    lock.lock();
    // Under the lock, so that stop() knows that none is on its way when it has returned.
    if (shared->done) shared->done(send.channel, send.ticket, std::move(delivery));
  }
  shared->ended = true;
  shared->changed.notify_all();
}

bool ChannelRunner::stop(std::chrono::milliseconds most) {
  if (!thread_.joinable()) return true;
  std::unique_lock lock(shared_->mutex);
  shared_->stopping = true;
  shared_->changed.notify_all();
  const bool ended = shared_->changed.wait_for(lock, most, [&] { return shared_->ended; });
  shared_->done = nullptr;
  lock.unlock();
  if (ended) thread_.join();
  else thread_.detach();
  return ended;
}

}  // namespace brimwatch
