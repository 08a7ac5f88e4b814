#pragma once
// The house's writes to the journal. Batches are handed over one at a time; notices go out once written, or once anyway
// if they cannot be. A disk that hangs without an error holds no notice back: after a while it counts as one that cannot
// be written, and what comes meanwhile waits here.
//
// One thread, the loop's; the keeper's answers are posted.
#include <cstdint>
#include <functional>
#include <map>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "core/log_sink.h"
#include "journal/keeper.h"

namespace brimwatch {

class JournalOutbox {
 public:
  struct World {
    std::function<Nanos()> steady;
    std::function<void(std::function<void()>)> post;  ///< later, on the loop's thread; called from any
    LogSink say;                                      ///< writes a log line
    LogSink trouble;                                  ///< writes a log line that may recur often
    std::function<bool()> has_news;                   ///< something that is not to wait for a beat
    std::function<JournalBatch()> take_news;          ///< all that is new: notices, days, holes
    std::function<void(const std::vector<Answer>&, bool durable)> answered{};  ///< they are kept, or cannot be now
    std::function<void()> handed_over;  ///< what was taken is on its way; may be empty
    std::function<void(JournalBatch&, bool all)>
        add_states;  ///< what has changed in the engine, as far as it goes now, and the day
    std::function<void(std::vector<NoticeRecord>)> tell;  ///< they go out now
    /// Says in a notice that another machine may tell it too: it goes out before the log that they share has it. May be
    /// empty, as of a machine that shares none.
    std::function<void(NoticeRecord&)> mark_undecided{};
    std::function<void(const std::string&)> tell_self_check;  ///< the user must hear it
  };
  explicit JournalOutbox(World world) : world_(std::move(world)) {}

  /// The journal could not be opened or read.
  void do_without(const std::string& trouble);
  void start(BatchKeeper& keeper) { keeper_ = &keeper; }

  /// All notices, and with each what changed of its stock, in one transaction. One at a time: what comes while the disk
  /// is at work goes in the next one, so that a slow disk gets fewer and larger ones.
  void flush();
  /// Everything that changed, whatever is on its way.
  void write_out() { write(true); }
  /// `then` when the keeper has answered, or when that takes too long.
  void keep_deliveries(std::vector<DeliveryRow> rows, std::function<void()> then);
  void on_beat();

  /// From the keeper, posted.
  void on_written(std::vector<NoticeRecord> written, bool durable);
  void on_journal(const std::string& trouble);  ///< empty: it works again

  [[nodiscard]] const std::string& trouble() const { return trouble_; }  ///< empty: notices are kept
  [[nodiscard]] bool is_writing() const { return writing_ > 0; }         ///< states and notices are on their way
  [[nodiscard]] bool is_idle() const { return keeper_->waiting() == 0 && !is_writing(); }
  [[nodiscard]] const BatchKeeper& keeper() const { return *keeper_; }
  [[nodiscard]] BatchKeeper& keeper() { return *keeper_; }

 private:
  void write(bool all_states);
  void hold_back_news();
  void hand_over(JournalBatch batch, bool ours, std::function<void()> then);
  void on_answer(std::uint64_t number, bool durable);
  void give_up_waiting();
  void hold_back(JournalBatch batch);
  [[nodiscard]] std::vector<NoticeRecord> marked(std::vector<NoticeRecord> notices) const;

  /// A batch that the keeper has. Of its states no copy is needed: nobody is told of them.
  struct OnItsWay {
    std::vector<NoticeRecord> notices;
    std::vector<Answer> answers;
    std::function<void()> then;
    bool ours = false;  ///< with the engine's state; the others are rows of deliveries
  };

  World world_;
  BatchKeeper* keeper_ = nullptr;
  std::map<std::uint64_t, OnItsWay> on_their_way_;  ///< in the order in which they were handed over
  std::uint64_t handed_over_ = 0;
  int writing_ = 0;  ///< of those on their way, ours
  std::set<std::string> told_undurable_;
  std::string trouble_;
  bool without_ = false;  ///< since the start no journal could be used

  // A disk that hangs.
  Nanos asked_ = 0, last_beat_ = 0;  ///< since when the disk owes an answer
  bool hangs_ = false;
  JournalBatch kept_back_;             ///< told already
  std::size_t coalesce_at_ = 0;        ///< rows of it
  std::uint64_t kept_again_with_ = 0;  ///< after it has hung: the batch with which all is kept; 0: none is awaited
};

}  // namespace brimwatch
