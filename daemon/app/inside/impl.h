#pragma once
// The daemon's inside: its parts, each a class with a file of its own, put together here. All of it belongs to
// the loop's thread.
#include <boost/asio/io_context.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <csignal>
#include <memory>
#include <string>
#include <vector>

#include "adapters/feeds/context.h"
#include "app/daemon.h"
#include "app/device_desk.h"
#include "app/heartbeat.h"
#include "app/inside/added_file_keeper.h"
#include "app/inside/answer_intake.h"
#include "app/inside/channel_maker.h"
#include "app/inside/chores.h"
#include "app/inside/control_requests.h"
#include "app/inside/evening_chores.h"
#include "app/inside/history_service.h"
#include "app/inside/journal_service.h"
#include "app/inside/journal_size.h"
#include "app/inside/page_service.h"
#include "app/inside/recording.h"
#include "app/inside/reloads.h"
#include "app/inside/shared_part.h"
#include "app/inside/watchdog.h"
#include "app/records_desk.h"
#include "app/shared_text.h"
#include "app/upkeep.h"
#include "live/ending.h"
#include "live/house.h"
#include "loop/clock.h"
#include "loop/lock.h"
#include "loop/log.h"
#include "loop/service.h"

namespace brimwatch {

namespace asio = boost::asio;

struct Daemon::Impl {
  Impl(Settings settings, DaemonPlaces where);

  // start.cpp
  int run();
  Status start();
  Status take_lock();
  void open_recording(const Desk& desk);
  void make_before_house(Desk& desk);
  HouseWorld make_world();
  void make_after_house();
  void on_journal_read();
  void begin_life();
  std::string ready_line() const;

  // life.cpp
  void wait_for_signals();
  void beat();
  void on_reload();
  Snapshot snapshot() const;
  std::function<std::string()> gather_now() const;
  void answer_from_channel(const AnswerRequest& request);

  // end.cpp
  void stop(const std::string& why);
  void wait_for_end();
  void end();
  bool close();

  std::string beside_journal(const char* name) const;

  const DaemonPlaces places;
  Log log;
  const LogSink say, trouble;
  Settings first_settings;
  const Timestamp started_at = wall_now();
  Service service;
  asio::io_context io{1};
  asio::steady_timer timer{io};
  asio::signal_set signals{io, SIGTERM, SIGINT, SIGHUP};
  std::unique_ptr<InstanceLock> lock;
  std::vector<std::string> start_troubles;  ///< of what was gone without
  bool stopping = false;
  bool kept_all = true;
  bool is_taken = false;  ///< the journal, by another daemon

  // Before the house: what it is made with.
  Chores chores{io};
  DeviceDesk devices;
  Upkeep upkeep;
  JournalSize journal_size;
  Watchdog watchdog{service};
  std::unique_ptr<Recorder> recorder;
  std::unique_ptr<FeedContext> feed_context;
  std::unique_ptr<ChannelMaker> channels;
  std::unique_ptr<House> house;

  // After it: what it hears, and what is heard of it.
  std::unique_ptr<JournalService> journal;
  RecordsDesk records;
  std::unique_ptr<SharedPart> shared;
  std::unique_ptr<EveningChores> evening;
  std::unique_ptr<AddedFileKeeper> added_file;
  std::unique_ptr<HistoryService> history;
  std::unique_ptr<Heartbeat> heartbeat;
  /// Who asks again at once gets the same where it costs much, and what is new where it costs little.
  SharedText now_text;
  std::unique_ptr<AnswerIntake> answers;
  std::unique_ptr<PageService> page;
  std::unique_ptr<Reloads> reloads;
  std::unique_ptr<ControlRequests> control;
  std::unique_ptr<Ending> ending;
};

}  // namespace brimwatch
