#pragma once
// The one thread that writes to the journal, so that the engine never waits for a disk.
//
// What waits is bounded: states and deliveries are coalesced (the last of each key stays); notices are never dropped
// while the disk works. When a write fails, the handle is given up (after a failed fsync nobody knows what the disk
// holds), the journal is opened anew with growing pauses, and everything stays in memory meanwhile. Notices that cannot
// be written are handed out all the same, marked as not durable, so that the user is told through the channels; at most
// kBacklogMost of them are kept for the journal, then the oldest go and are counted.
#include <chrono>
#include <functional>
#include <memory>
#include <thread>

#include "journal/journal.h"

namespace brimwatch {

struct WriterCounters {
  std::uint64_t commits = 0, failures = 0, reopened = 0;
  std::uint64_t coalesced = 0;       ///< rows that a newer one replaced before they were written
  std::uint64_t told_undurable = 0;  ///< notices handed out without being in the journal
  std::uint64_t lost = 0;            ///< of those, never written: too many
};

/// All called on the writer's thread, one at a time: hand them on to your own.
struct WriterEvents {
  /// Notices that are new in the journal; or, `durable` false, that could not be written yet. These come a second time,
  /// durable, when they have been.
  std::function<void(std::vector<NoticeRecord> notices, bool durable)> on_notices;
  std::function<void(const std::string& why)> on_trouble;  ///< once, when writing stops working
  std::function<void()> on_recovery;                       ///< once, when it works again and nothing is left to write
};

struct WriterOptions {
  std::chrono::milliseconds reopen_first{1'000}, reopen_most{60'000};  ///< pauses between attempts to open it anew
};

class JournalWriter {
 public:
  using Opener = std::function<Result<std::unique_ptr<Journal>>()>;
  using Done = std::function<void(bool durable)>;

  /// `journal` may be empty when it could not be opened at the start: then the opener is asked again.
  JournalWriter(std::unique_ptr<Journal> journal, Opener opener, WriterEvents events, WriterOptions options = {});
  /// As stop() with no time at all.
  ~JournalWriter();
  JournalWriter(const JournalWriter&) = delete;
  JournalWriter& operator=(const JournalWriter&) = delete;

  /// Whom notices written from now on go to.
  void set_recipients(Recipients recipients);
  /// Never waits for the disk. `done` is called once, after on_notices: with true when the batch is durable, with false
  /// as soon as it is known that it is not.
  void submit(JournalBatch batch, Done done = {});
  /// Writes what is left, for so long at most. False: something is not written, or the disk hangs (then its thread is
  /// left behind, and no event comes any more).
  bool stop(std::chrono::milliseconds most);

  [[nodiscard]] WriterCounters counters() const;
  [[nodiscard]] std::size_t waiting() const;  ///< rows not written yet

  static constexpr std::size_t kRowsBeforeCoalescing = 100'000;
  static constexpr std::size_t kBacklogMost = 100'000;

 private:
  struct Shared;
  std::shared_ptr<Shared> shared_;
  std::thread thread_;
};

}  // namespace brimwatch
