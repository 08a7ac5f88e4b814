#pragma once
// Past days, from their sources and from what the feed carried whole: kept in files, and put in force without a reload.
#include <boost/asio/io_context.hpp>
#include <functional>
#include <optional>
#include <string>

#include "app/heard_days.h"
#include "app/history_keeper.h"
#include "app/inside/chores.h"
#include "core/log_sink.h"
#include "live/house.h"
#include "loop/worker.h"

namespace brimwatch {

class HistoryService {
 public:
  /// `in_force`: new days are.
  HistoryService(boost::asio::io_context& loop, House& house, Chores& chores, std::function<void()> in_force,
                 LogSink trouble);
  HistoryService(const HistoryService&) = delete;
  HistoryService& operator=(const HistoryService&) = delete;

  void on_beat();
  void on_reload() { keeper_->on_reload(); }
  /// Days that the feed carried whole.
  void keep_heard(HeardDays::Days days) { heard_.keep(std::move(days)); }
  /// Nothing is fetched any more; a file is whole whenever it ends.
  void stop();

 private:
  HeardDays::World world_of_heard();
  HistoryKeeper::World world_of_keeper(boost::asio::io_context& loop);
  void put_in_force();

  House& house_;
  Chores& chores_;
  std::function<void()> in_force_;
  LogSink trouble_;
  Worker fetching_;
  HeardDays heard_;
  std::optional<HistoryKeeper> keeper_;  ///< none after stop()
  bool are_new_ = false;                 ///< days have been kept that are not in force yet
};

}  // namespace brimwatch
