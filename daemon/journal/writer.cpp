#include "journal/writer.h"

#include <algorithm>
#include <condition_variable>
#include <deque>
#include <mutex>
#include <utility>

#include "journal/backlog.h"
#include "journal/batch.h"

namespace brimwatch {
namespace {

using Steady = std::chrono::steady_clock;

}  // namespace

struct JournalWriter::Shared {
  std::unique_ptr<BacklogWriter> backlog;  ///< of the writer's thread alone

  // Guarded.
  mutable std::mutex mutex;
  std::condition_variable changed;
  std::deque<BacklogWriter::Submission> queue;
  std::size_t queued_rows = 0, backlog_rows = 0;
  std::size_t coalesce_at = kRowsBeforeCoalescing;  ///< grows with what coalescing leaves, so that it stays cheap
  Recipients recipients;
  WriterEvents events;
  WriterCounters counters;             ///< of the backlog, as it last told them
  std::uint64_t coalesced_queued = 0;  ///< rows coalesced before they came to the backlog
  bool stopping = false, ended = false;

  void work();
  std::deque<BacklogWriter::Submission> wait_for_work();
  BacklogWriter::World world();
};

BacklogWriter::World JournalWriter::Shared::world() {
  BacklogWriter::World world;
  world.steady = [] { return std::chrono::nanoseconds(Steady::now().time_since_epoch()).count(); };
  world.events = [this] {
    const std::lock_guard lock(mutex);
    return events;
  };
  world.recipients = [this] {
    const std::lock_guard lock(mutex);
    return recipients;
  };
  world.note = [this](const WriterCounters& now, std::size_t rows) {
    const std::lock_guard lock(mutex);
    counters = now;
    backlog_rows = rows;
  };
  return world;
}

std::deque<BacklogWriter::Submission> JournalWriter::Shared::wait_for_work() {
  std::unique_lock lock(mutex);
  const auto ready = [&] { return stopping || !queue.empty(); };
  if (!backlog->has_rest()) {
    changed.wait(lock, ready);
  } else {
    changed.wait_until(lock, Steady::time_point(std::chrono::nanoseconds(backlog->next_attempt())), ready);
  }
  queued_rows = 0;
  return std::exchange(queue, {});
}

void JournalWriter::Shared::work() {
  for (;;) {
    backlog->write(wait_for_work());
    std::unique_lock lock(mutex);
    if (!queue.empty()) continue;
    if (stopping) break;
    lock.unlock();
    backlog->tidy();
  }
  backlog->end();
  const std::lock_guard lock(mutex);
  ended = true;
  changed.notify_all();
}

JournalWriter::JournalWriter(std::unique_ptr<Journal> journal, Opener opener, WriterEvents events, WriterOptions options)
    : shared_(std::make_shared<Shared>()) {
  shared_->events = std::move(events);
  shared_->backlog = std::make_unique<BacklogWriter>(std::move(journal), std::move(opener), options, shared_->world());
  thread_ = std::thread([shared = shared_] { shared->work(); });
}

JournalWriter::~JournalWriter() { stop(std::chrono::milliseconds{0}); }

void JournalWriter::set_recipients(Recipients recipients) {
  const std::lock_guard lock(shared_->mutex);
  shared_->recipients = std::move(recipients);
}

void JournalWriter::submit(JournalBatch batch, Done done) {
  std::unique_lock lock(shared_->mutex);
  const std::size_t rows = rows_of(batch);
  auto& queue = shared_->queue;
  // Batches that nobody waits for are put together; a queue that grows all the same is coalesced.
  if (!done && !queue.empty() && !queue.back().done && queue.back().batch.day == batch.day) {
    append(queue.back().batch, std::move(batch));
  } else {
    queue.push_back({std::move(batch), std::move(done)});
  }
  shared_->queued_rows += rows;
  if (shared_->queued_rows > shared_->coalesce_at) {
    std::size_t left = 0;
    for (BacklogWriter::Submission& one : queue) {
      coalesce(one.batch);
      left += rows_of(one.batch);
    }
    shared_->coalesced_queued += shared_->queued_rows - left;
    shared_->queued_rows = left;
    shared_->coalesce_at = std::max(kRowsBeforeCoalescing, 2 * left);
  }
  lock.unlock();  // or the writer would wake only to wait for it
  shared_->changed.notify_all();
}

bool JournalWriter::stop(std::chrono::milliseconds most) {
  if (!thread_.joinable()) return true;
  std::unique_lock lock(shared_->mutex);
  shared_->stopping = true;
  shared_->changed.notify_all();
  const bool ended = shared_->changed.wait_for(lock, most, [&] { return shared_->ended; });
  const bool all_written = ended && shared_->backlog_rows == 0;
  if (!ended) shared_->events = {};
  lock.unlock();
  if (ended) thread_.join();
  else thread_.detach();
  return all_written;
}

WriterCounters JournalWriter::counters() const {
  const std::lock_guard lock(shared_->mutex);
  WriterCounters all = shared_->counters;
  all.coalesced += shared_->coalesced_queued;
  return all;
}

std::size_t JournalWriter::waiting() const {
  const std::lock_guard lock(shared_->mutex);
  return shared_->queued_rows + shared_->backlog_rows;
}

}  // namespace brimwatch
