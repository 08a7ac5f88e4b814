#pragma once
// Once a day, while nothing trades, old rows of the journal and old mails in folders are removed, as [keep] says. In
// small steps with pauses on a thread of its own: neither the loop nor the journal's writer waits for it.
#include <boost/asio/io_context.hpp>
#include <functional>
#include <memory>
#include <string>
#include <string_view>

#include "config/settings.h"
#include "core/log_level.h"
#include "live/upkeep_clock.h"
#include "loop/worker.h"

namespace brimwatch {

class Upkeep {
 public:
  using Say = std::function<void(LogLevel, std::string_view)>;
  Upkeep(boost::asio::io_context& loop, std::string journal, Say say);
  ~Upkeep();

  void on_beat(Timestamp now, const Calendar& calendar, const Settings& settings);
  /// The step in hand ends, and no other begins.
  void stop();

 private:
  struct Room;  ///< what the thread looks at between its steps
  Worker worker_;
  std::string journal_;
  Say say_;
  UpkeepClock clock_;
  std::shared_ptr<Room> room_;
};

}  // namespace brimwatch
