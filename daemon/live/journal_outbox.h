#pragma once
// The house's writes to the journal. Batches are handed over one at a time; notices go out once written, or once anyway
// if they cannot be.
//
// One thread, the loop's; the keeper's answers are posted.
#include <functional>
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
    std::function<void(std::function<void()>)> post;  ///< later, on the loop's thread; called from any
    LogSink say;                                      ///< writes a log line
    std::function<bool()> has_news;                   ///< something that is not to wait for a beat
    std::function<JournalBatch()> take_news;          ///< all that is new: notices, days, holes
    std::function<void(const std::vector<Answer>&, bool durable)> answered{};  ///< they are kept, or cannot be now
    std::function<void()> handed_over;  ///< what was taken is on its way; may be empty
    std::function<void(JournalBatch&, bool all)>
        add_states;  ///< what has changed in the engine, as far as it goes now, and the day
    std::function<void(std::vector<NoticeRecord>)> tell;      ///< they go out now
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
  /// `then` when the keeper has answered.
  void keep_deliveries(std::vector<DeliveryRow> rows, std::function<void()> then);

  /// From the keeper, posted.
  void on_written(std::vector<NoticeRecord> written, bool durable);
  void on_journal(const std::string& trouble);  ///< empty: it works again, and has all that was told without it

  [[nodiscard]] const std::string& trouble() const { return trouble_; }  ///< empty: notices are kept
  [[nodiscard]] bool is_writing() const { return writing_ > 0; }         ///< states and notices are on their way
  [[nodiscard]] bool is_idle() const { return keeper_->waiting() == 0 && !is_writing(); }
  [[nodiscard]] const BatchKeeper& keeper() const { return *keeper_; }
  [[nodiscard]] BatchKeeper& keeper() { return *keeper_; }

 private:
  void write(bool all_states);
  void hand_over(JournalBatch batch);
  void say_journal(const std::string& trouble);
  void on_answer(const std::vector<Answer>& answers, bool durable);

  World world_;
  BatchKeeper* keeper_ = nullptr;
  int writing_ = 0;  ///< batches with the engine's state, or notices; the others are rows of deliveries
  std::set<std::string> told_undurable_;
  std::string trouble_;
  bool without_ = false;  ///< since the start no journal could be used
};

}  // namespace brimwatch
