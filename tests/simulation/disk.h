#pragma once
// The disk that the journal lies on, and the daemon's hands on it: the keeper that writes at virtual instants through the
// daemon's own backlog, and the records. The disk fills up, fails, is slow, hangs, and loses what was not synced when the
// power goes.
#include <functional>
#include <memory>
#include <string>

#include "dice.h"
#include "fault/fault_vfs.h"
#include "journal/backlog.h"
#include "live/house.h"
#include "virtual_time.h"

namespace brimwatch::simulation {

class Disk {
 public:
  Disk(std::string folder, VirtualTime& time, std::uint64_t seed, Tally& tally);
  ~Disk();
  Disk(const Disk&) = delete;
  Disk& operator=(const Disk&) = delete;

  [[nodiscard]] std::string journal_path() const { return folder_ + "/journal.db"; }
  [[nodiscard]] std::string learned_path() const { return folder_ + "/curves.toml"; }
  [[nodiscard]] Result<std::unique_ptr<Journal>> open(bool check = true);

  /// Another program has the journal's lock.
  void lock_for(Nanos span);
  void fail_for(Nanos span);
  [[nodiscard]] bool fails() const { return failing_; }
  void heal();
  /// The next write takes so long.
  [[nodiscard]] Nanos next_pause();
  void set_faults(bool on) { faults_ = on; }

  /// Before the process's connections are closed, which a dead process does not do.
  void remember_for_kill();
  /// After they have been closed: the files as they were then, or as a power loss leaves them.
  void put_back(bool power_loss);

 private:
  std::string folder_;
  VirtualTime& time_;
  Dice dice_;
  Tally& tally_;
  std::unique_ptr<FaultVfs> layer_;
  DiskImage image_;
  std::map<std::string, std::string> files_;
  bool failing_ = false, faults_ = false;
  std::uint64_t failure_ = 0;
  Nanos locked_until_ = 0;
};

/// Writes after the disk's pause, everything that has come by then.
class SimKeeper final : public BatchKeeper {
 public:
  struct Events {
    WriterEvents writer;
    std::function<std::uint64_t()> mark;            ///< asked when a batch with state comes
    std::function<void(std::uint64_t)> on_durable;  ///< that mark and all before it are durable
  };
  SimKeeper(Disk& disk, VirtualTime& time, std::unique_ptr<Journal> journal, Opener opener, Events events);
  void set_recipients(Recipients recipients) override { recipients_ = std::move(recipients); }
  void submit(JournalBatch batch, Done done) override;
  [[nodiscard]] WriterCounters counters() const override { return counters_; }
  [[nodiscard]] std::size_t waiting() const override { return queued_ + rows_; }
  /// All that can be written now; nothing when the disk hangs.
  void end(Nanos most);

 private:
  void wake_after(Nanos span);
  void work();

  Disk& disk_;
  VirtualTime& time_;
  Events events_;
  Recipients recipients_;
  std::deque<BacklogWriter::Submission> queue_;
  std::size_t queued_ = 0, rows_ = 0;
  WriterCounters counters_;
  std::uint64_t mark_ = 0;
  bool marked_ = false, awake_ = false;
  Nanos answers_at_ = 0;
  std::unique_ptr<BacklogWriter> writer_;
  std::shared_ptr<int> life_ = std::make_shared<int>(0);
};

class SimRecords final : public Records {
 public:
  SimRecords(Disk& disk, VirtualTime& time) : disk_(disk), time_(time) {}
  void acknowledge(const std::string& notice_id, Timestamp at, std::function<void()> answer) override;
  void new_acknowledgements(std::function<void(std::vector<std::string>)> answer) override;

 private:
  Journal* journal();
  Disk& disk_;
  VirtualTime& time_;
  std::unique_ptr<Journal> journal_;
  std::int64_t seen_ = -1;
};

}  // namespace brimwatch::simulation
