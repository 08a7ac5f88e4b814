#include "journal/writer.h"

#include <algorithm>
#include <condition_variable>
#include <deque>
#include <mutex>
#include <utility>

#include "journal/batch.h"

namespace brimwatch {

namespace {

struct Submission {
  JournalBatch batch;
  JournalWriter::Done done;
};

/// Batches of one day each, in order: what has to be written.
class Backlog {
 public:
  void add(JournalBatch&& batch) {
    if (batches_.empty() || batches_.back().day != batch.day) batches_.push_back({});
    batches_.back().day = batch.day;
    append(batches_.back(), std::move(batch));
  }
  /// Returns how many rows it saved.
  std::uint64_t shrink() {
    const std::size_t before = rows();
    for (JournalBatch& batch : batches_) coalesce(batch);
    return before - rows();
  }
  /// Returns how many notices went.
  std::uint64_t drop_oldest_notices(std::size_t most) {
    std::size_t notices = 0;
    for (const JournalBatch& batch : batches_) notices += batch.notices.size();
    std::size_t surplus = notices > most ? notices - most : 0;
    const std::uint64_t dropped = surplus;
    for (JournalBatch& batch : batches_) {
      const std::size_t here = std::min(surplus, batch.notices.size());
      batch.notices.erase(batch.notices.begin(), batch.notices.begin() + static_cast<std::ptrdiff_t>(here));
      surplus -= here;
    }
    return dropped;
  }
  [[nodiscard]] std::size_t rows() const {
    std::size_t count = 0;
    for (const JournalBatch& batch : batches_) count += rows_of(batch);
    return count;
  }
  [[nodiscard]] bool empty() const { return batches_.empty(); }
  [[nodiscard]] const JournalBatch& front() const { return batches_.front(); }
  void pop() { batches_.pop_front(); }

 private:
  std::deque<JournalBatch> batches_;
};

}  // namespace

struct JournalWriter::Shared {
  // Of the writer's thread alone.
  std::unique_ptr<Journal> journal;
  Opener opener;
  WriterOptions options;
  Backlog backlog;
  bool in_trouble = false;
  std::size_t shrink_at = kRowsBeforeCoalescing;
  std::chrono::milliseconds pause{0};
  std::chrono::steady_clock::time_point next_attempt{};

  // Guarded.
  mutable std::mutex mutex;
  std::condition_variable changed;
  std::deque<Submission> queue;
  std::size_t queued_rows = 0, backlog_rows = 0;
  std::size_t coalesce_at = kRowsBeforeCoalescing;  ///< grows with what coalescing leaves, so that it stays cheap
  Recipients recipients;
  WriterEvents events;
  WriterCounters counters;
  bool stopping = false, ended = false;

  void work();
  std::deque<Submission> wait_for_work();
  void write(std::deque<Submission> taken);
  bool write_backlog();
  bool open_again();
  void fail_with(const std::string& why);
  void tell_notices(std::vector<NoticeRecord> notices, bool durable);
  WriterEvents current_events();
  template <typename Change>
  void count(Change change) {
    const std::lock_guard lock(mutex);
    change(counters);
    backlog_rows = backlog.rows();
  }
};

WriterEvents JournalWriter::Shared::current_events() {
  const std::lock_guard lock(mutex);
  return events;
}

std::deque<Submission> JournalWriter::Shared::wait_for_work() {
  std::unique_lock lock(mutex);
  const auto ready = [&] { return stopping || !queue.empty(); };
  if (backlog.empty()) changed.wait(lock, ready);
  else changed.wait_until(lock, next_attempt, ready);
  queued_rows = 0;
  return std::exchange(queue, {});
}

void JournalWriter::Shared::work() {
  for (;;) {
    write(wait_for_work());
    const std::lock_guard lock(mutex);
    if (stopping && queue.empty()) break;
  }
  if (in_trouble) (void)write_backlog();  // one last attempt, whatever the pause
  journal.reset();
  const std::lock_guard lock(mutex);
  backlog_rows = backlog.rows();
  ended = true;
  changed.notify_all();
}

void JournalWriter::Shared::write(std::deque<Submission> taken) {
  std::vector<NoticeRecord> notices;
  for (Submission& one : taken) {
    if (in_trouble) notices.insert(notices.end(), one.batch.notices.begin(), one.batch.notices.end());
    backlog.add(std::move(one.batch));
  }
  if (!notices.empty()) tell_notices(std::move(notices), false);
  bool durable = backlog.empty();
  if (!backlog.empty() && (!in_trouble || std::chrono::steady_clock::now() >= next_attempt)) durable = write_backlog();
  for (const Submission& one : taken) {
    if (one.done) one.done(durable);
  }
  if (durable) return count([](WriterCounters&) {});
  count([&](WriterCounters& c) {
    if (backlog.rows() > shrink_at) {
      c.coalesced += backlog.shrink();
      shrink_at = std::max(kRowsBeforeCoalescing, 2 * backlog.rows());
    }
    c.lost += backlog.drop_oldest_notices(kBacklogMost);
  });
}

bool JournalWriter::Shared::write_backlog() {
  if (!open_again()) return false;
  Recipients wanted;
  {
    const std::lock_guard lock(mutex);
    wanted = recipients;
  }
  while (!backlog.empty()) {
    std::vector<NoticeRecord> written;
    if (auto status = journal->commit(backlog.front(), wanted, &written); !status) {
      fail_with(status.error().text);
      return false;
    }
    count([](WriterCounters& c) { ++c.commits; });
    // After a failed write all of them are told, for a part of the failed commit may be in the file already.
    if (in_trouble) written = backlog.front().notices;
    backlog.pop();
    if (!written.empty()) tell_notices(std::move(written), true);
  }
  pause = std::chrono::milliseconds{0};
  if (!std::exchange(in_trouble, false)) return true;
  if (const auto tell = current_events().on_recovery) tell();
  return true;
}

bool JournalWriter::Shared::open_again() {
  if (journal) return true;
  auto opened = opener();
  if (!opened) {
    fail_with(opened.error().text);
    return false;
  }
  journal = std::move(*opened);
  count([](WriterCounters& c) { ++c.reopened; });
  return true;
}

void JournalWriter::Shared::fail_with(const std::string& why) {
  if (journal) journal->abandon();
  journal.reset();
  pause = pause.count() == 0 ? options.reopen_first : std::min(pause * 2, options.reopen_most);
  next_attempt = std::chrono::steady_clock::now() + pause;
  count([](WriterCounters& c) { ++c.failures; });
  if (std::exchange(in_trouble, true)) return;
  if (const auto tell = current_events().on_trouble) tell(why);
  std::vector<NoticeRecord> notices;  // there is one batch a day at most, so this is what was just taken
  Backlog copy = backlog;
  for (; !copy.empty(); copy.pop())
    notices.insert(notices.end(), copy.front().notices.begin(), copy.front().notices.end());
  if (!notices.empty()) tell_notices(std::move(notices), false);
}

void JournalWriter::Shared::tell_notices(std::vector<NoticeRecord> notices, bool durable) {
  if (!durable) count([&](WriterCounters& c) { c.told_undurable += notices.size(); });
  if (const auto tell = current_events().on_notices) tell(std::move(notices), durable);
}

JournalWriter::JournalWriter(std::unique_ptr<Journal> journal, Opener opener, WriterEvents events, WriterOptions options)
    : shared_(std::make_shared<Shared>()) {
  shared_->journal = std::move(journal);
  shared_->opener = std::move(opener);
  shared_->events = std::move(events);
  shared_->options = options;
  thread_ = std::thread([shared = shared_] { shared->work(); });
}

JournalWriter::~JournalWriter() { stop(std::chrono::milliseconds{0}); }

void JournalWriter::set_recipients(Recipients recipients) {
  const std::lock_guard lock(shared_->mutex);
  shared_->recipients = std::move(recipients);
}

void JournalWriter::submit(JournalBatch batch, Done done) {
  const std::lock_guard lock(shared_->mutex);
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
    for (Submission& one : queue) {
      coalesce(one.batch);
      left += rows_of(one.batch);
    }
    shared_->counters.coalesced += shared_->queued_rows - left;
    shared_->queued_rows = left;
    shared_->coalesce_at = std::max(kRowsBeforeCoalescing, 2 * left);
  }
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
  return shared_->counters;
}

std::size_t JournalWriter::waiting() const {
  const std::lock_guard lock(shared_->mutex);
  return shared_->queued_rows + shared_->backlog_rows;
}

}  // namespace brimwatch
