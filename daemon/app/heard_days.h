#pragma once
// Days that the feed carried whole, on their way into files of our own, in a folder of our own: nobody else's file is
// touched. However fast days end, one lot is in hand, and the others wait for the next. On the loop's thread; files are
// written where the world says.
#include <functional>
#include <string>
#include <utility>
#include <vector>

#include "config/settings.h"
#include "core/daily.h"
#include "loop/worker.h"

namespace brimwatch {

class HeardDays {
 public:
  using Days = std::vector<std::pair<std::string, DailyBar>>;  ///< by symbol

  static constexpr std::size_t kWaitingMost = 100'000;  ///< days; of more the oldest are given up, and that is told

  struct World {
    std::function<const HistorySettings&()> settings;  ///< those in force
    /// Does the job where it may block, then its answer; or calls `refuse` with the reason why it was not done.
    std::function<void(Worker::Job job, const std::function<void(const std::string&)>& refuse)> aside;
    std::function<void()> kept;  ///< there may be new rows
    std::function<void(const std::string& text)> trouble;
  };
  explicit HeardDays(World world) : world_(std::move(world)) {}

  void keep(Days days);

 private:
  void begin();
  void on_written(const std::string& why);
  void give_up(const std::string& why);

  World world_;
  Days waiting_;
  bool in_hand_ = false;
};

}  // namespace brimwatch
