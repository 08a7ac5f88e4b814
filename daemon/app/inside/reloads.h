#pragma once
// A configuration that is read anew: asked for by a signal or at the control socket, read and laid out off the loop so
// that the feed waits for little, then put in force whole or not at all.
#include <functional>
#include <string>
#include <vector>

#include "app/daemon.h"
#include "app/inside/chores.h"
#include "core/log_sink.h"
#include "live/house.h"
#include "loop/service.h"

namespace brimwatch {

class Reloads {
 public:
  using Reply = std::function<void(std::string json)>;

  struct World {
    std::function<std::string()> ready_line;  ///< for the service manager and the log
    std::function<void()> in_force;           ///< a new configuration is: what hangs on it follows
    LogSink say;
  };
  Reloads(const DaemonPlaces& places, House& house, Chores& chores, const Service& service, World world)
      : places_(places), house_(house), chores_(chores), service_(service), world_(std::move(world)) {}
  Reloads(const Reloads&) = delete;
  Reloads& operator=(const Reloads&) = delete;

  void ask();
  /// `reply` gets what came of it.
  void ask(Reply reply);
  /// The house has begun: what was asked for before is done now.
  void on_start();
  /// Nothing is put in force any more.
  void stop() { stopped_ = true; }

 private:
  void read();
  void apply(ReadyDesk ready);
  void refuse(const std::string& why);
  void answer(const std::string& refusal);

  const DaemonPlaces& places_;
  House& house_;
  Chores& chores_;
  const Service& service_;
  World world_;
  std::vector<Reply> replies_;  ///< of those who wait for what comes of it
  bool wanted_ = false, stopped_ = false;
};

}  // namespace brimwatch
