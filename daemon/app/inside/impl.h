#pragma once
// What stands behind the daemon: who is there, and which file has which part of it. All of it belongs to the loop's
// thread, but what says otherwise.
#include <boost/asio/io_context.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <csignal>
#include <memory>
#include <random>
#include <string>
#include <vector>

#include "adapters/feeds/context.h"
#include "app/answer_links.h"
#include "app/base_pictures.h"
#include "app/daemon.h"
#include "app/device_desk.h"
#include "app/evening_review.h"
#include "app/heard_days.h"
#include "app/heartbeat.h"
#include "app/history_keeper.h"
#include "app/records_desk.h"
#include "app/shared_membership.h"
#include "app/shared_text.h"
#include "app/status_page.h"
#include "app/upkeep.h"
#include "config/paths.h"
#include "desk/notice_pictures.h"
#include "journal/writer.h"
#include "live/ending.h"
#include "live/house.h"
#include "loop/clock.h"
#include "loop/control.h"
#include "loop/lock.h"
#include "loop/log.h"
#include "loop/service.h"
#include "loop/worker.h"
#include "tape/recorder.h"

namespace brimwatch {

namespace asio = boost::asio;

struct Daemon::Impl {
  Impl(Settings settings, DaemonPlaces where)
      : places(std::move(where)),
        log(settings.log_level, places.json_log ? "json" : settings.log_format),
        first_settings(std::move(settings)) {}

  struct Opened {
    std::unique_ptr<Journal> journal;
    RestoredState kept;
    bool unclean = false;  ///< whoever wrote last did not close it
  };

  // start.cpp
  int run();
  Status start();
  Status take_lock();
  void start_recording(const Desk& desk);
  void begin_life();
  std::string ready_line() const;
  void answer_directly();
  void listen();

  // journal_start.cpp
  static JournalOptions options_of(const KeepSettings& keep);
  static Result<Opened> open_and_read(const std::string& path, Date today, const JournalOptions& options);
  void open_journal();
  void begin(Opened opened);
  void begin_without(const std::string& trouble);
  void make_writer(std::unique_ptr<Journal> journal);
  Result<std::unique_ptr<Journal>> open_at_last(const std::string& path, const Calendar& calendar,
                                                const JournalOptions& options);
  void look_through_journal();

  // house_world.cpp
  HouseWorld make_world();
  void let_record(HouseWorld& world);
  void let_share(HouseWorld& world);
  std::unique_ptr<FeedContext> make_context(Desk& desk);
  void trouble(LogLevel level, std::string_view text);
  LogSink trouble_sink();

  // channel_making.cpp
  Result<std::unique_ptr<MessageRunner>> make_runner(const ChannelSettings& settings, MessageRunner::Done done);
  WithReviewPages::MakePage review_pages();
  void say_refused(const Result<AnswerDone>& done);

  // chores.cpp
  void start_chore(Worker::Job job, const std::function<void(const std::string&)>& refuse);
  void run_aside(std::function<void()> work, std::function<void()> then);
  void prepare(Settings settings, const std::function<void(ReadyDesk)>& then);
  void make_review(Date day, Timestamp now, std::function<void(NoticeRecord)> answer);
  void save_lessons(LearnedBySymbol all, std::string file);
  void renew_lifts();
  void keep_list(const std::string& text);
  void tell_changed_by_hand(const std::string& path, const std::string& aside);

  // past_days.cpp
  void keep_history();
  void renew_history();

  // beat.cpp
  void beat();
  void feed_watchdog();
  void measure_journal();

  // control.cpp
  void answer(std::string_view request, ControlServer::Reply reply);
  Result<AnswerLinks> answer_links() const;
  void take_answer(std::string_view text, const std::string& who, ControlServer::Reply reply);
  void answer_page(const WebRequest& request, const std::function<void(std::string json, bool done)>& reply);
  void hand_over(ControlServer::Reply reply);

  // shown.cpp
  Snapshot snapshot();
  std::function<std::string()> gather_now();

  // page.cpp
  void show_page();
  void know_devices(const PageSettings& wanted);
  void open_to_devices(const PageSettings& wanted);
  void serve_devices(const PageSettings& wanted);
  void renew_keys(const PageSettings& wanted);
  void read_keys(const PageSettings& wanted, const std::string& otherwise,
                 std::function<void(std::shared_ptr<TlsKeys>)> then);
  void draw_pictures(const PageSettings& wanted);

  // reload.cpp
  void wait_for_signals();
  void reload();
  void apply(ReadyDesk ready);
  void answer_reloads(const std::string& why);

  // end.cpp
  void stop(const std::string& why);
  void wait_for_end();
  void end();
  bool close();

  /// A million watches are read in a second; a review in a few.
  static constexpr auto kChore = std::chrono::seconds(120);
  static inline const std::string kChoreText = "two minutes";
  static constexpr auto kAudit = std::chrono::hours(6);  ///< gigabytes on a slow disk
  static constexpr auto kRendering = std::chrono::minutes(10);

  DaemonPlaces places;
  Log log;
  Settings first_settings;
  Service service;
  asio::io_context io{1};
  Worker chores{io, {.deadline = kChore, .waiting_most = 8}};
  Worker opening{io};
  Worker fetching{io, {.deadline = kChore, .waiting_most = 4}};      ///< files of past days
  Worker renderer{io, {.deadline = kRendering, .waiting_most = 8}};  ///< of snapshots: four at most are asked for at once
  Worker auditor{io, {.deadline = kAudit, .waiting_most = 1}};       ///< of a journal after a crash
  Upkeep upkeep{io, places.journal, [this](LogLevel level, std::string_view text) { log.say(level, text); }};
  asio::steady_timer timer{io};
  asio::signal_set signals{io, SIGTERM, SIGINT, SIGHUP};
  std::mt19937_64 random{std::random_device()()};
  bool kept_all = true;
  std::unique_ptr<InstanceLock> lock;
  std::unique_ptr<Recorder> recorder;
  std::unique_ptr<FeedContext> context;
  std::shared_ptr<PictureShelf> pictures = std::make_shared<PictureShelf>();
  std::unique_ptr<House> house;
  std::unique_ptr<JournalWriter> writer;
  std::unique_ptr<RecordsDesk> records;
  SharedSettings shared_settings;
  std::shared_ptr<SpeakingRight> right;  ///< of one of several machines; else empty, as the next
  std::unique_ptr<SharedMembership> shared;
  /// Who asks again at once gets the same where it costs much, and what is new where it costs little.
  SharedText now_text{[this] { return gather_now(); },
                      [this](auto work, auto then) { run_aside(std::move(work), std::move(then)); },
                      steady_now,
                      {.keep = kSecond, .of_cost = 20}};
  std::unique_ptr<ControlServer> control;
  std::unique_ptr<Heartbeat> pulse;
  std::unique_ptr<HistoryKeeper> history;
  bool days_are_new = false;  ///< past days have been kept that are not in force yet
  HeardDays heard{{[this]() -> const HistorySettings& { return house->desk().settings().history; },
                   [this](Worker::Job job, const std::function<void(const std::string&)>& refuse) {
                     start_chore(std::move(job), refuse);
                   },
                   [this] { days_are_new = true; },
                   [this](const std::string& text) { trouble(LogLevel::warning, text); }}};
  const Timestamp started_at = wall_now();
  std::uint64_t journal_bytes = 0;
  Nanos journal_measured = 0;
  PageSettings shown;
  BasePictures base_pictures;
  DeviceDesk devices{devices_file(places.journal),
                     {[this](auto work, auto then) { run_aside(std::move(work), std::move(then)); }, wall_now, steady_now,
                      [this](LogLevel level, std::string_view text) {
                        if (level == LogLevel::info) log.say(level, text);
                        else trouble(level, text);  // who guesses does not fill the log
                      }}};
  std::shared_ptr<TlsKeys> page_keys;  ///< of the page beyond this machine; null: none, or in the clear
  std::unique_ptr<StatusPage> page;
  std::vector<std::string> start_troubles;  ///< of what was gone without

  std::unique_ptr<Ending> ending;
  Nanos watchdog_fed = 0;
  bool stopping = false, reload_wanted = false;
  bool is_taken = false;  ///< the journal, by another daemon
  std::vector<ControlServer::Reply> reload_replies;
  std::uint64_t progress_seen = 0;
};

}  // namespace brimwatch
