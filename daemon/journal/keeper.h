#pragma once
// Where batches go to be kept, whoever does the writing: the daemon's writer with a thread of its own (writer.h), or a
// simulation's that writes at a virtual instant.
#include <chrono>
#include <functional>
#include <memory>

#include "journal/journal.h"

namespace brimwatch {

struct WriterCounters {
  std::uint64_t commits = 0, failures = 0, reopened = 0;
  std::uint64_t coalesced = 0;       ///< rows that a newer one replaced before they were written
  std::uint64_t told_undurable = 0;  ///< notices handed out without being in the journal
  std::uint64_t lost = 0;            ///< of those, never written: too many
};

/// One at a time, where the writing is done: hand them on to your own thread.
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

class BatchKeeper {
 public:
  using Opener = std::function<Result<std::unique_ptr<Journal>>()>;
  using Done = std::function<void(bool durable)>;

  virtual ~BatchKeeper() = default;
  /// Whom notices written from now on go to.
  virtual void set_recipients(Recipients recipients) = 0;
  /// Never waits for the disk. `done` is called once, after on_notices: with true when the batch is durable, with false
  /// as soon as it is known that it is not.
  virtual void submit(JournalBatch batch, Done done) = 0;
  [[nodiscard]] virtual WriterCounters counters() const = 0;
  [[nodiscard]] virtual std::size_t waiting() const = 0;  ///< rows not written yet
};

}  // namespace brimwatch
