#pragma once
// The daemon: feeds in, engine, journal, channels out, and all that keeps it honest. One loop thread runs feeds and
// engine; the journal and every channel have threads of their own, so that neither disk nor network holds up a tick;
// what else may block (names, look-ups, files that are read) is done by workers, which the end does not wait for.
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "config/settings.h"

namespace brimwatch {

struct DaemonPlaces {
  std::string config;   ///< read again on SIGHUP
  std::string journal;  ///< database
  std::string socket;   ///< control
  std::string lock;
  bool reloads = true;                  ///< false: SIGHUP and its like change nothing
  std::vector<std::string> warnings{};  ///< of the configuration, as it was read; told already
  bool json_log = false;                ///< the log as JSON, whatever the configuration says
};

class Daemon {
 public:
  Daemon(Settings settings, DaemonPlaces places);
  ~Daemon();
  Daemon(const Daemon&) = delete;
  Daemon& operator=(const Daemon&) = delete;

  /// Runs until SIGTERM, SIGINT, or the end of a feed on standard input. Returns an exit code of the program.
  int run();

  /// Any thread, at any time: run() ends as at SIGTERM.
  void end(const std::string& why);

 private:
  struct Impl;
  std::mutex alive_;  ///< guards who is there, for end()
  std::unique_ptr<Impl> impl_;
};

}  // namespace brimwatch
