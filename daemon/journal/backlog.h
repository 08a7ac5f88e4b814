#pragma once
// What waits to be written, and the writing of it: the part of the writer that knows neither threads nor clocks. When a
// write fails, the handle is given up (after a failed fsync nobody knows what the disk holds), the journal is opened anew
// with growing pauses, and everything stays in memory meanwhile.
#include <deque>
#include <memory>
#include <string>
#include <vector>

#include "core/text/timestamp.h"
#include "journal/keeper.h"

namespace brimwatch {

/// Batches in order, of one day each as far as they have states: what has none goes with those before it.
class Backlog {
 public:
  void add(JournalBatch&& batch);
  std::uint64_t shrink();                               ///< returns how many rows it saved
  std::uint64_t drop_oldest_notices(std::size_t most);  ///< returns how many notices went
  [[nodiscard]] std::size_t rows() const;
  [[nodiscard]] bool empty() const { return batches_.empty(); }
  [[nodiscard]] const JournalBatch& front() const { return batches_.front(); }
  void pop() { batches_.pop_front(); }
  JournalBatch take_front();

 private:
  std::deque<JournalBatch> batches_;
};

class BacklogWriter {
 public:
  struct World {
    std::function<Nanos()> steady;
    std::function<WriterEvents()> events;  ///< asked at each event, so that they can be taken away
    std::function<Recipients()> recipients;
    std::function<void(const WriterCounters&, std::size_t rows)> note;  ///< whenever one of them has changed
  };
  struct Submission {
    JournalBatch batch;
    BatchKeeper::Done done;
  };

  /// `journal` may be empty when it could not be opened at the start: then the opener is asked again.
  BacklogWriter(std::unique_ptr<Journal> journal, BatchKeeper::Opener opener, WriterOptions options, World world);

  /// Writes what it is given and what is left from before, unless the pause after a failure is not over.
  void write(std::deque<Submission> taken);
  /// One last attempt, whatever the pause; then the journal is closed.
  void end();
  /// When there is nothing to write.
  void tidy() {
    if (journal_ && !has_rest()) journal_->tidy();
  }
  [[nodiscard]] bool has_rest() const { return !backlog_.empty(); }
  [[nodiscard]] Nanos next_attempt() const { return next_attempt_; }  ///< while there is a rest

 private:
  bool write_backlog();
  bool open_again();
  void fail_with(const std::string& why);
  void tell_notices(std::vector<NoticeRecord> notices, bool durable);
  void note() { world_.note(counters_, backlog_.rows()); }

  std::unique_ptr<Journal> journal_;
  BatchKeeper::Opener opener_;
  WriterOptions options_;
  World world_;
  Backlog backlog_;
  WriterCounters counters_;
  bool in_trouble_ = false;
  std::size_t shrink_at_;
  Nanos pause_ = 0, next_attempt_ = 0;
};

constexpr std::size_t kRowsBeforeCoalescing = 100'000;
constexpr std::size_t kBacklogMost = 100'000;  ///< notices

}  // namespace brimwatch
