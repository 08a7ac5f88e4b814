#include "journal/backlog.h"

#include <algorithm>
#include <utility>

#include "journal/batch.h"

namespace brimwatch {
namespace {

Nanos nanos(std::chrono::milliseconds span) { return std::chrono::nanoseconds(span).count(); }

bool has_states(const JournalBatch& batch) { return !batch.watches.empty() || !batch.symbols.empty(); }

}  // namespace

void Backlog::add(JournalBatch&& batch) {
  const bool has_both = !batches_.empty() && has_states(batches_.back()) && has_states(batch);
  if (batches_.empty() || (has_both && batches_.back().day != batch.day)) batches_.push_back({});
  if (has_states(batch)) batches_.back().day = batch.day;
  append(batches_.back(), std::move(batch));
}

JournalBatch Backlog::take_front() {
  JournalBatch front = std::move(batches_.front());
  batches_.pop_front();
  return front;
}

std::uint64_t Backlog::shrink() {
  const std::size_t before = rows();
  for (JournalBatch& batch : batches_) coalesce(batch);
  return before - rows();
}

std::uint64_t Backlog::drop_oldest_notices(std::size_t most) {
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

std::size_t Backlog::rows() const {
  std::size_t count = 0;
  for (const JournalBatch& batch : batches_) count += rows_of(batch);
  return count;
}

BacklogWriter::BacklogWriter(std::unique_ptr<Journal> journal, BatchKeeper::Opener opener, WriterOptions options,
                             World world)
    : journal_(std::move(journal)),
      opener_(std::move(opener)),
      options_(options),
      world_(std::move(world)),
      shrink_at_(kRowsBeforeCoalescing) {}

void BacklogWriter::write(std::deque<Submission> taken) {
  std::vector<NoticeRecord> notices;
  for (Submission& one : taken) {
    if (in_trouble_) notices.insert(notices.end(), one.batch.notices.begin(), one.batch.notices.end());
    backlog_.add(std::move(one.batch));
  }
  note();
  if (!notices.empty()) tell_notices(std::move(notices), false);
  bool durable = backlog_.empty();
  if (!backlog_.empty() && (!in_trouble_ || world_.steady() >= next_attempt_)) durable = write_backlog();
  for (const Submission& one : taken) {
    if (one.done) one.done(durable);
  }
  if (durable) return note();
  if (backlog_.rows() > shrink_at_) {
    counters_.coalesced += backlog_.shrink();
    shrink_at_ = std::max(kRowsBeforeCoalescing, 2 * backlog_.rows());
  }
  counters_.lost += backlog_.drop_oldest_notices(kBacklogMost);
  note();
}

void BacklogWriter::end() {
  if (in_trouble_) (void)write_backlog();
  journal_.reset();
  note();
}

bool BacklogWriter::write_backlog() {
  if (!open_again()) return false;
  const Recipients wanted = world_.recipients();
  while (!backlog_.empty()) {
    std::vector<NoticeRecord> written;
    if (auto status = journal_->commit(backlog_.front(), wanted, &written); !status) {
      fail_with(status.error().text);
      return false;
    }
    ++counters_.commits;
    // After a failed write all of them are told, for a part of the failed commit may be in the file already.
    if (in_trouble_) written = backlog_.front().notices;
    backlog_.pop();
    note();
    if (!written.empty()) tell_notices(std::move(written), true);
  }
  pause_ = 0;
  if (!std::exchange(in_trouble_, false)) return true;
  if (const auto tell = world_.events().on_recovery) tell();
  return true;
}

bool BacklogWriter::open_again() {
  if (journal_) return true;
  auto opened = opener_();
  if (!opened) {
    fail_with(opened.error().text);
    return false;
  }
  journal_ = std::move(*opened);
  ++counters_.reopened;
  note();
  return true;
}

void BacklogWriter::fail_with(const std::string& why) {
  if (journal_) journal_->abandon();
  journal_.reset();
  pause_ = pause_ == 0 ? nanos(options_.reopen_first) : std::min(pause_ * 2, nanos(options_.reopen_most));
  next_attempt_ = world_.steady() + pause_;
  ++counters_.failures;
  note();
  if (std::exchange(in_trouble_, true)) return;
  if (const auto tell = world_.events().on_trouble) tell(why);
  std::vector<NoticeRecord> notices;  // there is one batch a day at most, so this is what was just taken
  Backlog copy = backlog_;
  for (; !copy.empty(); copy.pop())
    notices.insert(notices.end(), copy.front().notices.begin(), copy.front().notices.end());
  if (!notices.empty()) tell_notices(std::move(notices), false);
}

void BacklogWriter::tell_notices(std::vector<NoticeRecord> notices, bool durable) {
  if (!durable) counters_.told_undurable += notices.size();
  note();
  if (const auto tell = world_.events().on_notices) tell(std::move(notices), durable);
}

}  // namespace brimwatch
