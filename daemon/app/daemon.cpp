#include "app/daemon.h"

#include <algorithm>
#include <boost/asio/post.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/thread_pool.hpp>
#include <csignal>
#include <deque>
#include <nlohmann/json.hpp>
#include <random>
#include <set>

#include "app/collector.h"
#include "app/desk.h"
#include "app/desk_view.h"
#include "app/evening_lessons.h"
#include "app/records_desk.h"
#include "app/snapshot_json.h"
#include "app/status_page.h"
#include "app/ways_in.h"
#include "app/ways_out.h"
#include "config/loader.h"
#include "config/secret.h"
#include "core/wording.h"
#include "journal/writer.h"
#include "loop/clock.h"
#include "loop/control.h"
#include "loop/lock.h"
#include "loop/log.h"
#include "loop/service.h"
#include "tape/recorder.h"

namespace brimwatch {
namespace {

namespace asio = boost::asio;

constexpr auto kHeartbeat = std::chrono::milliseconds(250);
constexpr Nanos kCheckpoint = 5 * kSecond;
constexpr auto kDrain = std::chrono::milliseconds(5000);
constexpr Nanos kLook = 2 * kSecond;
constexpr std::size_t kLatest = 50;
constexpr Nanos kWorthAHole = 2 * kSecond;

std::vector<std::string> symbols_of(const Settings& settings) {
  std::vector<std::string> names;
  for (const Watch& watch : settings.watches) names.push_back(watch.symbol);
  std::sort(names.begin(), names.end());
  names.erase(std::unique(names.begin(), names.end()), names.end());
  return names;
}

}  // namespace

struct Daemon::Impl {
  Impl(Settings settings, DaemonPlaces where)
      : places(std::move(where)), log(settings.log_level), first_settings(std::move(settings)) {}

  // --- start
  // -------------------------------------------------------------------------------------------------------------

  int run() {
    std::signal(SIGPIPE, SIG_IGN);
    if (const auto started = start(); !started) {
      log.say(LogLevel::error, started.error().text);
      return 1;
    }
    log.say(LogLevel::info, ready_line());
    service.ready(ready_line());
    io.run();
    return 0;
  }

  Status start() {
    auto taken = InstanceLock::take(places.lock);
    if (!taken) return fail(taken.error().text);
    lock = std::make_unique<InstanceLock>(std::move(*taken));
    auto opened = Desk::open(std::move(first_settings));
    if (!opened) return fail(opened.error().text);
    desk = std::move(*opened);
    collector = std::make_unique<Collector>(*desk);
    lessons = std::make_unique<EveningLessons>(*desk, desk->settings().history.learned);
    if (const auto recording = start_recording(); !recording) return recording;
    for (const std::string& problem : desk->problems()) log.trouble(LogLevel::warning, problem, wall_now());
    make_ways_out();
    if (const auto kept = open_journal(); !kept) return kept;
    if (const auto listening = listen(); !listening) return listening;
    make_ways_in();
    show_page();
    wait_for_signals();
    beat();
    return {};
  }

  Status start_recording() {
    const RecordSettings& record = desk->settings().record;
    if (record.directory.empty()) return {};
    RecorderOptions options;
    options.directory = record.directory;
    options.frames = record.frames;
    options.tape = record.tape;
    options.bytes_most = record.bytes_most;
    options.day_of = [calendar = desk->main_calendar_shared()](Timestamp time) { return calendar->local_date(time); };
    auto opened = Recorder::open(std::move(options));
    if (!opened) return fail(opened.error().text);
    recorder = std::move(*opened);
    return {};
  }

  Status open_journal() {
    auto journal = Journal::open(places.journal);
    if (!journal) return fail(journal.error().text);
    const auto watches = (*journal)->watch_states(std::nullopt);
    const auto symbols = (*journal)->symbol_states(std::nullopt);
    auto open = (*journal)->open_deliveries();
    if (!watches) return fail(watches.error().text);
    if (!symbols) return fail(symbols.error().text);
    if (!open) return fail(open.error().text);
    desk->engine().restore(*watches, *symbols);
    for (const SymbolState& state : *symbols) seen_before = std::max(seen_before, state.last_time);
    out->take_up(std::move(*open));
    WriterEvents events;
    events.on_notices = [this](std::vector<NoticeRecord> written, bool durable) {
      asio::post(io,
                 [this, written = std::move(written), durable]() mutable { on_written(std::move(written), durable); });
    };
    events.on_trouble = [this](const std::string& why) { asio::post(io, [this, why] { on_journal(why); }); };
    events.on_recovery = [this] { asio::post(io, [this] { on_journal(""); }); };
    writer = std::make_unique<JournalWriter>(
        std::move(*journal), [path = places.journal] { return Journal::open(path); }, std::move(events));
    writer->set_recipients(out->recipients());
    records = std::make_unique<RecordsDesk>(io, places.journal);
    return {};
  }

  Status listen() {
    auto server = ControlServer::listen(io, places.socket, [this](std::string_view request) { return answer(request); });
    if (!server) return fail(server.error().text);
    control = std::move(*server);
    return {};
  }

  void make_ways_out() {
    WaysOut::World world{io,
                         wall_now,
                         [this](LogLevel level, std::string_view text) { log.trouble(level, text, wall_now()); },
                         [this](std::vector<DeliveryRow> rows, std::function<void()> then) {
                           JournalBatch batch;
                           batch.deliveries = std::move(rows);
                           writer->submit(std::move(batch),
                                          [this, then = std::move(then)](bool) { asio::post(io, then); });
                         },
                         [this](const ChannelReport& report) { on_channel_report(report); },
                         [this](const std::string& id) { acknowledge(id); }};
    out = std::make_unique<WaysOut>(std::move(world));
    out->set_channels(desk->settings().channels);
  }

  void make_ways_in() {
    FeedContext context{io,
                        desk->symbols(),
                        wall_now,
                        steady_now,
                        [this](LogLevel level, std::string_view text) { log.trouble(level, text, wall_now()); },
                        [](const SecretSource& source) { return read_secret(source); },
                        [this] { return std::uniform_real_distribution<double>(0, 1)(random); }};
    WaysIn::Events events{
        [this](std::span<const Tick> ticks) { on_ticks(ticks); },
        [this](const FeedEvent& event) { on_feed_event(event); },
        [this](std::size_t feed, FeedState state, std::string_view text) { on_feed_state(feed, state, text); },
        [this](std::size_t feed, Timestamp received, std::string_view bytes) {
          if (recorder != nullptr) recorder->frame(in->settings(feed).name, received, bytes);
        }};
    in = std::make_unique<WaysIn>(std::move(context), std::move(events));
    in->set(desk->settings().feeds, symbols_of(desk->settings()));
  }

  [[nodiscard]] std::string ready_line() const {
    const Settings& settings = desk->settings();
    return "watching " + std::to_string(settings.watches.size()) + " pivots on " + std::to_string(in->size()) + " feed" +
           (in->size() == 1 ? "" : "s") + ", telling through " + std::to_string(settings.channels.size()) + " channel" +
           (settings.channels.size() == 1 ? "" : "s");
  }

  // --- the path of a tick
  // --------------------------------------------------------------------------------------------------

  void on_ticks(std::span<const Tick> ticks) {
    begin_day(ticks.front());
    if (recorder != nullptr) recorder->ticks(ticks, desk->symbols());
    fill_hole_of_restart(ticks.front());
    desk->engine().on_ticks(ticks, *collector);
    ticks_seen += ticks.size();
    newest = std::max(newest, ticks.back().time);
    newest_at = steady_now();
    dirty = true;
    if (!collector->batch.notices.empty() || !collector->batch.days.empty() || !collector->batch.holes.empty()) flush();
  }

  void begin_day(const Tick& tick) {
    const Date day = desk->main_calendar().local_date(tick.time);
    if (day == today) return;
    today = day;
    desk->begin_day(day);
  }

  /// Between the last tick that the journal knows and the first one now we were blind, when both are of one session.
  void fill_hole_of_restart(const Tick& first) {
    if (!seen_before.is_set()) return;
    const Timestamp from = std::exchange(seen_before, Timestamp{});
    const Session* session = desk->main_calendar().of(first.time);
    if (session == nullptr || from < session->open || first.time - from < kWorthAHole) return;
    Tick hole;
    hole.kind = TickKind::hole;
    hole.time = from;
    hole.received = first.time;
    desk->engine().on_ticks({&hole, 1}, *collector);
    collector->batch.holes.push_back({"restart", "", from, first.time, "the program was not running"});
  }

  /// The engine's time: that of the newest tick, carried on by our own clock. So a feed that is fifteen minutes behind,
  /// or a recorded day that comes through a pipe, ends its day when its own time says so.
  [[nodiscard]] Timestamp engine_now() const {
    return newest.is_set() ? newest + (steady_now() - newest_at) : wall_now();
  }

  /// Everything that changed and all notices of it in one transaction; what is written goes to the channels.
  void flush() {
    JournalBatch batch = std::exchange(collector->batch, {});
    for (const DayRecord& day : batch.days) lessons->take(day);
    desk->engine().take_changed(batch.watches, batch.symbols);
    if (today != Date{}) batch.day = today;
    dirty = false;
    last_flush = steady_now();
    if (batch.empty()) return;
    holes += batch.holes.size();
    writer->submit(std::move(batch));
  }

  /// Notices that went out while the journal could not be written come again when it can; they are not sent twice.
  void on_written(std::vector<NoticeRecord> written, bool durable) {
    std::erase_if(written, [&](const NoticeRecord& record) { return durable && told_undurable.erase(record.id) > 0; });
    for (const NoticeRecord& record : written) {
      if (!durable) told_undurable.insert(record.id);
      log.say(LogLevel::info, record.id + ": " + record.title);
      latest.push_front(record);
      if (latest.size() > kLatest) latest.pop_back();
    }
    notices += written.size();
    out->on_written(written);
    pump();
  }

  // --- time
  // ----------------------------------------------------------------------------------------------------------------

  void beat() {
    timer.expires_after(kHeartbeat);
    timer.async_wait([this](const boost::system::error_code& error) {
      if (error || stopping) return;
      in->on_time(in_session());
      if (newest.is_set())
        desk->engine().on_time(engine_now(), *collector);  // before the first tick its time is not known
      if (!collector->batch.notices.empty() || (dirty && steady_now() - last_flush > kCheckpoint)) flush();
      pump();
      now_and_then();
      feed_watchdog();
      beat();
    });
  }

  void pump() { out->pump(); }

  /// What need not be done at every beat: acknowledgements of other processes, lessons of the evening.
  void now_and_then() {
    if (steady_now() - last_look < kLook) return;
    last_look = steady_now();
    records->new_acknowledgements([this](const std::vector<std::string>& ids) {
      for (const std::string& id : ids) out->on_acknowledged(id);
      pump();
    });
    if (lessons->has_news()) save_lessons();
  }

  void save_lessons() {
    asio::post(worker, [this, all = lessons->take_all(), file = lessons->file()] {
      if (const auto saved = write_learned(file, all); !saved) {
        log.trouble(
            LogLevel::warning,
            "learned curves: " + saved.error().text + "; what this evening taught is kept till the end of the program",
            wall_now());
      }
    });
  }

  void feed_watchdog() {
    const Nanos interval = service.watchdog_interval();
    if (interval == 0 || steady_now() - watchdog_fed < interval / 2) return;
    watchdog_fed = steady_now();
    service.alive();
  }

  // --- notices about ourselves
  // -----------------------------------------------------------------------------------------------

  /// Counts go on after a restart, so the journal is asked for the highest of the day.
  void tell_about(const std::string& name, Notice notice) {
    notice.time = notice.time.is_set() ? notice.time : wall_now();
    notice.day = desk->main_calendar().local_date(notice.time);
    records->highest_count(notice.day, name, notice.kind, [this, name, notice = std::move(notice)](int highest) mutable {
      int& said = counts[{notice.day.days, name, static_cast<int>(notice.kind)}];
      said = std::max(said, highest) + 1;
      notice.count = static_cast<std::uint16_t>(std::min(said, 65535));
      WordingContext context;
      context.symbol = name;
      context.offset = desk->main_calendar().offset(notice.time);
      collector->batch.notices.push_back(word(std::move(notice), context));
      flush();
    });
  }

  void tell_self_check(const std::string& detail) {
    Notice notice;
    notice.kind = NoticeKind::self_check;
    notice.detail = detail;
    tell_about("", std::move(notice));
  }

  void on_journal(const std::string& trouble) {
    if (trouble == journal_trouble) return;
    journal_trouble = trouble;
    log.say(trouble.empty() ? LogLevel::info : LogLevel::error,
            trouble.empty() ? "journal: works again" : "journal: " + trouble);
    tell_self_check(trouble.empty() ? "the journal works again; notices are kept"
                                    : "the journal cannot be written: " + trouble);
  }

  void on_channel_report(const ChannelReport& report) {
    const Date day = desk->main_calendar().local_date(report.at);
    tell_about(report.channel, notice_of(report, day, 1, desk->main_calendar().offset(report.at)));
  }

  [[nodiscard]] bool in_session() const {
    const Timestamp now = engine_now();
    const Session* session = desk->main_calendar().of(now);
    return session != nullptr && session->is_open(now);
  }

  void on_feed_event(const FeedEvent& event) {
    const std::string& name = in->settings(event.feed).name;
    if (event.kind == FeedEvent::Kind::hole) {
      collector->batch.holes.push_back(
          {name, std::string(desk->symbols().name(event.symbol)), event.from, event.to, event.text});
      return;
    }
    const auto kind = notice_kind_of(event.kind);
    log.say(kind == NoticeKind::feed_back || !kind ? LogLevel::info : LogLevel::warning,
            "feed " + name + ": " + event.text);
    if (!kind) return;
    Notice notice;
    notice.kind = *kind;
    notice.detail = event.text;
    tell_about(name, std::move(notice));
  }

  /// Nothing for what is only for the log.
  static std::optional<NoticeKind> notice_kind_of(FeedEvent::Kind kind) {
    switch (kind) {
      case FeedEvent::Kind::silent:
      case FeedEvent::Kind::symbol_silent:
        return NoticeKind::feed_silent;
      case FeedEvent::Kind::late:
        return NoticeKind::feed_late;
      case FeedEvent::Kind::back:
      case FeedEvent::Kind::on_time:
      case FeedEvent::Kind::symbol_back:
        return NoticeKind::feed_back;
      case FeedEvent::Kind::clock:
        return NoticeKind::self_check;
      case FeedEvent::Kind::hole:
      case FeedEvent::Kind::changed:
      case FeedEvent::Kind::reconnect:
        return std::nullopt;
    }
    return std::nullopt;
  }

  void on_feed_state(std::size_t feed, FeedState state, std::string_view) {
    const FeedSettings& settings = in->settings(feed);
    const bool standard_input = settings.kind == "pipe" && settings.command.empty();
    if (state == FeedState::stopped && standard_input) {
      asio::post(io, [this] { stop("standard input has ended"); });
    }
  }

  void acknowledge(const std::string& id) {
    records->acknowledge(id, wall_now(), [this, id] { out->on_acknowledged(id), pump(); });
  }

  // --- control
  // ---------------------------------------------------------------------------------------------------------------

  std::string answer(std::string_view request) {
    const auto asked = nlohmann::json::parse(request, nullptr, false);
    const std::string ask =
        asked.is_object() && asked.contains("ask") && asked["ask"].is_string() ? asked["ask"].get<std::string>() : "";
    if (ask == "now") return to_json(snapshot(), desk->main_calendar().offset(engine_now())) + "\n";
    if (ask == "reload") {
      reload();
      return "{\"fine\":true}\n";
    }
    return "{\"error\":\"expected ask to be now or reload\"}\n";
  }

  /// As the settings want it. A port that cannot be had costs the page, never the notices.
  void show_page() {
    const PageSettings wanted = desk->settings().page;
    if (wanted == shown && page != nullptr) return;
    page.reset();
    shown = wanted;
    if (!wanted.on) return;
    auto opened = StatusPage::open(
        io, wanted.port, {[this] { return snapshot(); }, [this] { return desk->main_calendar().offset(engine_now()); }});
    if (!opened)
      return log.trouble(LogLevel::error, "status page: " + opened.error().text + "; it is not shown", wall_now());
    page = std::move(*opened);
    log.say(LogLevel::info, "status page: " + page->address());
  }

  Snapshot snapshot() {
    Snapshot view;
    view.time = wall_now();
    view.version = BRIMWATCH_VERSION;
    describe_desk(*desk, engine_now(), view);
    view.feeds = in->rows();
    view.channels = out->rows();
    view.latest.assign(latest.begin(), latest.end());
    view.ticks = ticks_seen;
    view.notices = notices;
    view.holes = holes;
    view.journal_waiting = writer->waiting();
    view.journal_failures = writer->counters().failures;
    view.journal_trouble = journal_trouble;
    return view;
  }

  // --- reload and end
  // ----------------------------------------------------------------------------------------------------------

  void wait_for_signals() {
    signals.async_wait([this](const boost::system::error_code& error, int number) {
      if (error) return;
      if (number == SIGHUP) reload();
      else stop(number == SIGTERM ? "asked to end" : "interrupted");
      if (!stopping) wait_for_signals();
    });
  }

  /// All or nothing. Files are read on a thread of their own, so that the feed does not wait.
  void reload() {
    service.reloading();
    asio::post(worker, [this] {
      auto loaded = std::make_shared<Loaded>(load_settings(places.config, {.calendars = Calendar::known()}));
      asio::post(io, [this, loaded] { apply(*loaded); });
    });
  }

  void apply(Loaded& loaded) {
    for (const Problem& problem : loaded.problems) log.say(LogLevel::error, to_string(problem));
    Status applied;
    if (loaded.ok()) applied = desk->apply(std::move(loaded.settings));
    if (!loaded.ok() || !applied) {
      const std::string first = loaded.ok() ? applied.error().text : to_string(loaded.problems.front());
      const std::string count = loaded.problems.size() > 1 ? " (and " + std::to_string(loaded.problems.size() - 1) +
                                                                 " more; brimwatch check lists all)"
                                                           : "";
      tell_self_check("the new configuration was refused and the old one stays in force; " + first + count);
    } else {
      out->set_channels(desk->settings().channels);
      writer->set_recipients(out->recipients());
      in->set(desk->settings().feeds, symbols_of(desk->settings()));
      log.set_level(desk->settings().log_level);
      show_page();
      log.say(LogLevel::info, "reloaded: " + ready_line());
    }
    service.ready(ready_line());
  }

  void stop(const std::string& why) {
    if (stopping) return;
    stopping = true;
    log.say(LogLevel::info, "ending: " + why);
    service.stopping(why);
    timer.cancel();
    signals.cancel();
    in->stop();
    control.reset();
    page.reset();
    flush();
    if (lessons->has_news()) save_lessons();
    stop_by = steady_now() + std::chrono::nanoseconds(kDrain).count();
    drain();
  }

  /// Waits for deliveries in hand, then ends.
  void drain() {
    pump();
    const bool late = steady_now() > stop_by;
    if (writer->waiting() == 0 && out->idle()) ++quiet_rounds;
    else quiet_rounds = 0;
    if (late || quiet_rounds > 2) return end();
    timer.expires_after(std::chrono::milliseconds(20));
    timer.async_wait([this](const boost::system::error_code&) { drain(); });
  }

  void end() {
    out->stop(std::chrono::milliseconds(500));
    if (!writer->stop(std::chrono::milliseconds(2000)))
      log.say(LogLevel::error, "journal: not everything could be written");
    records->stop();
    worker.join();
    recorder.reset();
    io.stop();
  }

  DaemonPlaces places;
  Log log;
  Settings first_settings;
  Service service;
  asio::io_context io{1};
  asio::thread_pool worker{1};
  asio::steady_timer timer{io};
  asio::signal_set signals{io, SIGTERM, SIGINT, SIGHUP};
  std::unique_ptr<InstanceLock> lock;
  std::unique_ptr<Desk> desk;
  std::unique_ptr<Collector> collector;
  std::unique_ptr<WaysOut> out;
  std::unique_ptr<JournalWriter> writer;
  std::unique_ptr<RecordsDesk> records;
  std::unique_ptr<EveningLessons> lessons;
  std::unique_ptr<Recorder> recorder;
  std::set<std::string> told_undurable;
  std::unique_ptr<ControlServer> control;
  std::unique_ptr<WaysIn> in;
  PageSettings shown;
  std::unique_ptr<StatusPage> page;
  std::mt19937_64 random{std::random_device()()};

  Date today;
  Timestamp newest, seen_before;
  Nanos newest_at = 0, last_flush = 0, last_look = 0, watchdog_fed = 0, stop_by = 0;
  bool dirty = false, stopping = false;
  int quiet_rounds = 0;
  std::uint64_t ticks_seen = 0, notices = 0, holes = 0;
  std::deque<NoticeRecord> latest;
  std::map<std::tuple<int, std::string, int>, int> counts;
  std::string journal_trouble;
};

Daemon::Daemon(Settings settings, DaemonPlaces places)
    : impl_(std::make_unique<Impl>(std::move(settings), std::move(places))) {}
Daemon::~Daemon() = default;
int Daemon::run() { return impl_->run(); }

}  // namespace brimwatch
