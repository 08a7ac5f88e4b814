#pragma once
// A disk that hangs reports no error. This keeper stands before the one that writes, and does not wait for it for ever:
// after a while what the disk owes counts as what could not be written. Its notices are told all the same, whoever waits
// is answered, and what comes from then on stays here, of each state the newest, until the disk answers.
//
// One thread, the loop's; what the keeper behind it says on a thread of its own is posted.
#include <cstdint>
#include <functional>
#include <map>
#include <string>
#include <vector>

#include "core/log_sink.h"
#include "journal/backlog.h"

namespace brimwatch {

class PatientKeeper final : public BatchKeeper {
 public:
  struct Patience {
    Nanos waits = 10 * kSecond;   ///< for the disk
    Nanos silent = 10 * kSecond;  ///< until it is trouble that people hear of; no less than `waits`
  };
  struct World {
    std::function<Nanos()> steady;
    std::function<void(std::function<void()>)> post;  ///< later, on the loop's thread; called from any
    WriterEvents events;                              ///< on the loop's thread
    LogSink trouble;                                  ///< writes a log line that may recur often
  };
  explicit PatientKeeper(World world) : PatientKeeper(std::move(world), Patience()) {}
  PatientKeeper(World world, Patience patience) : world_(std::move(world)), patience_(patience) {}
  PatientKeeper(const PatientKeeper&) = delete;
  PatientKeeper& operator=(const PatientKeeper&) = delete;

  /// Before anything else. `keeper` was made with events_of_keeper().
  void stand_before(BatchKeeper& keeper) { keeper_ = &keeper; }
  /// What the keeper behind this one says goes through it; on any thread.
  [[nodiscard]] WriterEvents events_of_keeper();

  // BatchKeeper
  void set_recipients(Recipients recipients) override { keeper_->set_recipients(std::move(recipients)); }
  void submit(JournalBatch batch, Done done) override;
  [[nodiscard]] WriterCounters counters() const override;
  [[nodiscard]] std::size_t waiting() const override { return keeper_->waiting() + kept_back_.rows(); }

  void on_beat();
  /// At the end of the program: all goes to the keeper behind, whatever the disk does.
  void hand_over_all();

 private:
  struct OnItsWay {
    std::vector<NoticeRecord> notices;
    Done done;
  };

  void hand_over(JournalBatch batch, Done done);
  void hold_back(JournalBatch batch, Done done);
  void keep_bound();
  void give_up_waiting();
  void on_answer(std::uint64_t number, bool durable);
  void on_notices(std::vector<NoticeRecord> notices, bool durable);
  void on_trouble(const std::string& why);
  void on_recovery();

  World world_;
  Patience patience_;
  BatchKeeper* keeper_ = nullptr;
  std::map<std::uint64_t, OnItsWay> on_their_way_;  ///< in the order in which they were handed over
  std::uint64_t handed_over_ = 0;
  Nanos asked_ = 0, last_beat_ = 0;  ///< since when the disk owes an answer
  bool hangs_ = false, in_trouble_ = false;
  Backlog kept_back_;  ///< told already
  std::size_t shrink_at_ = kCoalesceFrom;
  std::uint64_t all_kept_with_ = 0;  ///< after it has hung: the batch with which all is kept; 0: none is awaited
  std::uint64_t coalesced_ = 0, lost_ = 0;

  static constexpr std::size_t kCoalesceFrom = 10'000;  ///< rows
};

}  // namespace brimwatch
