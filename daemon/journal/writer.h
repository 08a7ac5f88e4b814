#pragma once
// The one thread that writes to the journal, so that the engine never waits for a disk.
//
// What waits is bounded: states and deliveries are coalesced (the last of each key stays); notices are never dropped
// while the disk works. When it does not (backlog.h), notices are handed out all the same, marked as not durable, so that
// the user is told through the channels; at most kBacklogMost of them are kept for the journal, then the oldest go and
// are counted.
#include <chrono>
#include <memory>
#include <thread>

#include "journal/keeper.h"

namespace brimwatch {

class JournalWriter final : public BatchKeeper {
 public:
  /// `journal` may be empty when it could not be opened at the start: then the opener is asked again. The events come on
  /// the writer's thread.
  JournalWriter(std::unique_ptr<Journal> journal, Opener opener, WriterEvents events, WriterOptions options = {});
  /// As stop() with no time at all.
  ~JournalWriter() override;
  JournalWriter(const JournalWriter&) = delete;
  JournalWriter& operator=(const JournalWriter&) = delete;

  void set_recipients(Recipients recipients) override;
  void submit(JournalBatch batch, Done done) override;
  void submit(JournalBatch batch) { submit(std::move(batch), {}); }
  /// Writes what is left, for so long at most. False: something is not written, or the disk hangs (then its thread is
  /// left behind, and no event comes any more).
  bool stop(std::chrono::milliseconds most);

  [[nodiscard]] WriterCounters counters() const override;
  [[nodiscard]] std::size_t waiting() const override;

 private:
  struct Shared;
  std::shared_ptr<Shared> shared_;
  std::thread thread_;
};

}  // namespace brimwatch
