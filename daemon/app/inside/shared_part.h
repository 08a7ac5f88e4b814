#pragma once
// This machine's part where several share a house; of a machine that is alone each call does what it does without others.
// The right to speak is there from the start, since channels ask for it; membership begins with the house.
#include <boost/asio/io_context.hpp>
#include <chrono>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "app/inside/chores.h"
#include "app/shared_membership.h"
#include "config/settings.h"
#include "core/log_sink.h"
#include "live/house.h"

namespace brimwatch {

class SharedPart {
 public:
  explicit SharedPart(const SharedSettings& settings);
  SharedPart(const SharedPart&) = delete;
  SharedPart& operator=(const SharedPart&) = delete;

  /// Null: the machine is alone, and may always speak.
  [[nodiscard]] const std::shared_ptr<SpeakingRight>& right() const { return right_; }
  [[nodiscard]] const std::string& member() const { return settings_.name; }
  /// What the house asks of the others.
  void join(HouseWorld& world);
  /// Starts the house on this journal and these records, as one of several or alone.
  void start(boost::asio::io_context& loop, House& house, BatchKeeper& journal, Records& records, Chores& chores,
             const LogSink& trouble);

  /// Of what has been written: what this machine is to tell.
  [[nodiscard]] std::vector<NoticeRecord> to_tell(std::vector<NoticeRecord> written) const;
  /// At the start, or at last.
  void on_journal_read();
  void on_reload();
  /// Gives the word to another machine; `reply` gets why not, or nothing.
  void hand_over(std::function<void(const std::string& refusal)> reply);
  /// At the end of the program; `then` comes soon, whatever hangs.
  void leave(std::function<void()> then);
  /// False: a thread hangs, and is left behind.
  bool stop(std::chrono::milliseconds most);

 private:
  void answer_directly(Chores& chores, const LogSink& trouble);

  SharedSettings settings_;
  std::shared_ptr<SpeakingRight> right_;
  std::unique_ptr<SharedMembership> membership_;  ///< null: alone, or not begun
};

}  // namespace brimwatch
