#pragma once
// This machine's part in a house of several: etcd, the keeper that asks it first, and ten beats a second. Made only where
// the configuration has [shared]; without it nothing of this runs.
#include <boost/asio/io_context.hpp>
#include <boost/asio/steady_timer.hpp>
#include <functional>
#include <memory>
#include <string>

#include "adapters/etcd/etcd_log.h"
#include "adapters/net/tls_keys.h"
#include "adapters/net/web_server.h"
#include "core/log_sink.h"
#include "dispatch/runner.h"
#include "live/house.h"
#include "loop/worker.h"
#include "shared/shared_keeper.h"

namespace brimwatch {

class SharedMembership {
 public:
  using Say = LogSink;

  SharedMembership(boost::asio::io_context& loop, const SharedSettings& settings, std::shared_ptr<SpeakingRight> right,
                   House& house, BatchKeeper& local, Records& records, Say say);
  SharedMembership(const SharedMembership&) = delete;
  SharedMembership& operator=(const SharedMembership&) = delete;

  /// What the house is given in the place of the journal's own.
  [[nodiscard]] BatchKeeper& keeper() { return keeper_; }
  [[nodiscard]] Records& records() { return records_; }

  void start();
  void on_journal_read() { keeper_.remember(house_.take_memory()); }
  /// Of what has been written: what this machine is to tell.
  [[nodiscard]] std::vector<NoticeRecord> to_tell(std::vector<NoticeRecord> written) const {
    return keeper_.to_tell(std::move(written));
  }
  /// A person's answer that was decided here, for all machines; `then` as in HouseWorld::share.
  void share(const Answer& answer, std::function<void(Status)> then) { keeper_.answers().give(answer, std::move(then)); }
  void on_reload() { list_.clear(), rules_.clear(); }
  /// Gives the word to another machine once nothing is on its way; `reply` gets an error in words, or nothing.
  void hand_over(std::function<void(const std::string& error)> reply);
  /// At the end of the program; `then` comes soon, whatever hangs.
  void leave(std::function<void()> then);
  /// False: a thread hangs, and is left behind.
  bool stop(std::chrono::milliseconds most) {
    const bool asked = asking_.stop(std::chrono::milliseconds{0});  // of a second at most
    return log_.stop(most) && asked;
  }
  /// The others may ask at `[shared] direct`; `keys` null: in the clear, on this machine alone.
  Status answer_directly(const std::shared_ptr<TlsKeys>& keys);
  [[nodiscard]] SharedRow row() const { return keeper_.row(); }

 private:
  class SharedRecords final : public Records {
   public:
    SharedRecords(Records& inner, SharedKeeper& keeper) : inner_(inner), keeper_(keeper) {}
    void acknowledge(const std::string& notice_id, Timestamp at, std::function<void()> answer) override;
    void new_acknowledgements(std::function<void(std::vector<std::string>)> answer) override;

   private:
    Records& inner_;
    SharedKeeper& keeper_;
  };

  SharedKeeper::House house_of();
  SharedKeeper::World world_of();
  void beat();
  void tell_taken_over(const Takeover& takeover);
  [[nodiscard]] std::string direct_answer() const;
  [[nodiscard]] const std::string& list();
  [[nodiscard]] const std::string& rules();
  [[nodiscard]] SharedMember describe();

  House& house_;
  Say say_;
  SharedSettings settings_;
  boost::asio::io_context& loop_;
  EtcdLog log_;
  Worker asking_;  ///< the others, directly
  SharedKeeper keeper_;
  SharedRecords records_;
  boost::asio::steady_timer timer_, last_;
  std::string list_, list_hash_, rules_, rules_hash_;
  std::function<void(const std::string&)> handing_over_;
  Nanos handing_since_ = 0;
  std::set<std::string> clocks_told_;
  bool leaving_ = false;
  std::unique_ptr<WebServer> door_;  ///< where the others ask
};

/// Sends only while this machine may speak: looked at before the message goes to its channel's thread. What goes while it
/// speaks alone says so, however long ago its words were made.
[[nodiscard]] std::unique_ptr<MessageRunner> while_it_may_speak(std::unique_ptr<MessageRunner> runner,
                                                                std::shared_ptr<const SpeakingRight> right,
                                                                std::string member);
/// The same on the channel's own thread, at the last moment.
[[nodiscard]] std::unique_ptr<Channel> while_it_may_speak(std::unique_ptr<Channel> channel,
                                                          std::shared_ptr<const SpeakingRight> right);

}  // namespace brimwatch
