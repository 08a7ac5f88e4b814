#include "app/daemon.h"

#include <algorithm>
#include <boost/asio/post.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <csignal>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <random>

#include "adapters/channels/table.h"
#include "adapters/feeds/context.h"
#include "adapters/feeds/merge.h"
#include "adapters/feeds/table.h"
#include "adapters/net/tls_keys.h"
#include "answers/lists.h"
#include "answers/message.h"
#include "app/added_file.h"
#include "app/answer_links.h"
#include "app/base_pictures.h"
#include "app/device_desk.h"
#include "app/evening_review.h"
#include "app/heard_days.h"
#include "app/heartbeat.h"
#include "app/history_keeper.h"
#include "app/recording_row.h"
#include "app/records_desk.h"
#include "app/request.h"
#include "app/shared_membership.h"
#include "app/shared_text.h"
#include "app/snapshot_json.h"
#include "app/status_page.h"
#include "app/upkeep.h"
#include "config/address.h"
#include "config/loader.h"
#include "config/paths.h"
#include "config/secret.h"
#include "desk/channel_plans.h"
#include "desk/notice_pictures.h"
#include "files/own_files.h"
#include "journal/open_files.h"
#include "journal/upkeep.h"
#include "journal/writer.h"
#include "live/ending.h"
#include "live/house.h"
#include "live/usable.h"
#include "loop/clock.h"
#include "loop/control.h"
#include "loop/last_resort.h"
#include "loop/lock.h"
#include "loop/log.h"
#include "loop/service.h"
#include "loop/worker.h"
#include "tape/recorder.h"

namespace brimwatch {
namespace {

namespace asio = boost::asio;

constexpr auto kHeartbeat = std::chrono::milliseconds(250);
constexpr int kNotKept = 1;  ///< exit status, as the next
constexpr int kTaken = 6;    ///< commands/command.h
constexpr auto kLastWait = std::chrono::milliseconds(100);
constexpr auto kGoneAfter = std::chrono::milliseconds(800);
constexpr auto kChore = std::chrono::seconds(120);  ///< a million watches are read in a second; a review in a few
constexpr Nanos kMeasureEvery = kMinute;            ///< of the journal's size
constexpr auto kAudit = std::chrono::hours(6);      ///< gigabytes on a slow disk
constexpr auto kRendering = std::chrono::minutes(10);
const std::string kChoreText = "two minutes";

}  // namespace

struct Daemon::Impl {
  Impl(Settings settings, DaemonPlaces where)
      : places(std::move(where)),
        log(settings.log_level, places.json_log ? "json" : settings.log_format),
        first_settings(std::move(settings)) {}

  // --- start ---

  int run() {
    std::signal(SIGPIPE, SIG_IGN);
    if (const auto started = start(); !started) {
      log.say(LogLevel::error, started.error().text);
      return is_taken ? kTaken : 1;
    }
    io.run();
    return kept_all ? 0 : kNotKept;
  }

  /// What costs something else than the notices is told and gone without: a daemon that is not there tells nothing.
  Status start() {
    if (const auto alone = take_lock(); !alone) return alone;
    auto opened = Desk::open(std::move(first_settings));
    if (!opened) return fail(opened.error().text);
    start_recording(**opened);
    context = make_context(**opened);
    if (const SharedSettings& asked = (*opened)->settings().shared; asked.on()) {
      shared_settings = asked;
      right = std::make_shared<SpeakingRight>();
    }
    auto made = House::open(make_world(), std::move(*opened));
    if (!made) return fail(made.error().text);
    house = std::move(*made);
    house->note_warnings(places.warnings);
    wait_for_signals();
    open_journal();
    return {};
  }

  // --- the journal at the start ---

  struct Opened {
    std::unique_ptr<Journal> journal;
    RestoredState kept;
    bool unclean = false;  ///< whoever wrote last did not close it
  };

  /// Old states go by upkeep, in steps; at a commit only where that has not come to it for a month.
  static JournalOptions options_of(const KeepSettings& keep) {
    constexpr int kForEver = 1'000'000, kMonth = 30;
    JournalOptions options;
    options.days_kept = keep.states == 0 ? kForEver : keep.states + kMonth;
    return options;
  }

  /// Any thread.
  static Result<Opened> open_and_read(const std::string& path, Date today, const JournalOptions& options) {
    const bool unclean = ended_uncleanly(path);
    auto journal = Journal::open(path, options);
    if (!journal) return tl::unexpected(journal.error());
    auto kept = read_kept(**journal, today);
    if (!kept) return tl::unexpected(kept.error());
    return Opened{std::move(*journal), std::move(*kept), unclean};
  }

  /// Off the loop: another program may hold its lock, the disk may hang. The feeds wait ten seconds for it, no longer.
  void open_journal() {
    const Date today = house->desk().main_calendar().local_date(wall_now());
    const bool started = opening.start(
        [this, path = places.journal, today, options = options_of(house->desk().settings().keep)]() -> Worker::Answer {
          return [this, opened = std::make_shared<Result<Opened>>(open_and_read(path, today, options))] {
            if (*opened) begin(std::move(**opened));
            else begin_without(opened->error().text);
          };
        },
        [this] {
          begin_without("journal " + places.journal + ": no answer for 10 s (another program's lock, or the disk)");
        });
    if (!started) begin_without("journal " + places.journal + ": the system gives no thread to open it");
  }

  void begin(Opened opened) {
    if (stopping) return;
    house->restore(std::move(opened.kept));
    make_writer(std::move(opened.journal));
    begin_life();
    keep_list(added_list(house->answers()));
    if (opened.unclean) look_through_journal();
  }

  /// A journal that cannot be used stays as it is; the writer goes on asking for it, and reads it before it writes.
  void begin_without(const std::string& trouble) {
    if (stopping) return;
    house->do_without(trouble);
    make_writer(nullptr);
    begin_life();
  }

  void make_writer(std::unique_ptr<Journal> journal) {
    WriterEvents events;
    events.on_notices = [this](std::vector<NoticeRecord> written, bool durable) {
      asio::post(io, [this, written = std::move(written), durable]() mutable {
        if (shared != nullptr) written = shared->to_tell(std::move(written));
        house->on_written(std::move(written), durable);
      });
    };
    events.on_trouble = [this](const std::string& why) { asio::post(io, [this, why] { house->on_journal(why); }); };
    events.on_recovery = [this] { asio::post(io, [this] { house->on_journal(""); }); };
    const bool journal_is_read = journal != nullptr;
    writer = std::make_unique<JournalWriter>(
        std::move(journal),
        [this, is_read = journal_is_read, file = OpenFile::identity(places.journal), path = places.journal,
         calendar = house->desk().main_calendar_shared(), options = options_of(house->desk().settings().keep)]() mutable {
          options.after_error = is_read;
          auto opened = is_read ? Journal::open(path, options) : open_at_last(path, *calendar, options);
          if (!opened) return opened;
          const auto before = std::exchange(file, OpenFile::identity(path));
          if (std::exchange(is_read, true) && before != file) asio::post(io, [this] { house->on_other_journal(); });
          return opened;
        },
        std::move(events));
  }

  /// On the writer's thread, before it writes anything of this run.
  Result<std::unique_ptr<Journal>> open_at_last(const std::string& path, const Calendar& calendar,
                                                const JournalOptions& options) {
    auto opened = open_and_read(path, calendar.local_date(wall_now()), options);
    if (!opened) return tl::unexpected(opened.error());
    asio::post(io, [this, kept = std::make_shared<RestoredState>(std::move(opened->kept))] {
      house->recover(std::move(*kept));
      keep_list(added_list(house->answers()));
    });
    return std::move(opened->journal);
  }

  void begin_life() {
    records = std::make_unique<RecordsDesk>(io, places.journal,
                                            [this](LogLevel level, std::string_view text) { trouble(level, text); });
    if (right != nullptr)
      shared =
          std::make_unique<SharedMembership>(io, shared_settings, right, *house, *writer, *records,
                                             [this](LogLevel level, std::string_view text) { trouble(level, text); });
    if (shared == nullptr) house->start(*writer, *records);
    else house->start(shared->keeper(), shared->records()), shared->start(), answer_directly();
    listen();
    for (const std::string& trouble : start_troubles) {
      log.say(LogLevel::error, trouble);
      house->tell_self_check(trouble);
    }
    show_page();
    pulse = std::make_unique<Heartbeat>(io, [this](LogLevel level, std::string_view text) { trouble(level, text); });
    keep_history();
    beat();
    log.say(LogLevel::info, ready_line());
    service.ready(ready_line());
    if (std::exchange(reload_wanted, false)) reload();
  }

  /// For the service manager's status and the log: a feed that can never come is no feed.
  std::string ready_line() const {
    const auto& feeds = house->desk().settings().feeds;
    const bool deaf = !has_standard_input() && std::any_of(feeds.begin(), feeds.end(), [](const FeedSettings& feed) {
      return feed.enabled && is_standard_input(feed);
    });
    return house->ready_line() + (deaf ? "; blind: there is no standard input here, name another feed" : "");
  }

  /// Where it cannot, the others know no address of this machine, and go by etcd alone.
  void answer_directly() {
    const std::string& address = shared_settings.direct;
    if (address.empty()) return;
    const auto refuse = [this](const std::string& why) {
      trouble(LogLevel::error, "[shared] direct: " + why + "; the other machines cannot ask this one whether it speaks");
    };
    if (address.starts_with("http:")) {
      if (const Status done = shared->answer_directly(nullptr); !done) refuse(done.error().text);
      return;
    }
    start_chore(
        [this, refuse, paper = shared_settings.certificate, key = shared_settings.key]() -> Worker::Answer {
          auto keys = TlsKeys::load(paper, key);
          if (!keys) return [refuse, why = keys.error().text] { refuse(why); };
          return [this, refuse, keys = std::move(*keys)] {
            if (const Status done = shared->answer_directly(keys); !done) refuse(done.error().text);
          };
        },
        refuse);
  }

  Status take_lock() {
    auto taken = InstanceLock::take(places.lock);
    if (taken) {
      lock = std::make_unique<InstanceLock>(std::move(*taken));
      return {};
    }
    is_taken = taken.error().held;
    if (is_taken) return fail(taken.error().text);
    start_troubles.push_back(taken.error().text + "; a second brimwatch on the same journal would not be noticed");
    return {};
  }

  void start_recording(const Desk& desk) {
    const RecordSettings& record = desk.settings().record;
    if (record.directory.empty()) return;
    RecorderOptions options;
    options.directory = record.directory;
    options.frames = record.frames;
    options.tape = record.tape;
    options.bytes_most = record.bytes_most;
    options.day_of = [calendar = desk.main_calendar_shared()](Timestamp time) { return calendar->local_date(time); };
    auto opened = Recorder::open(std::move(options));
    if (!opened) start_troubles.push_back(opened.error().text + "; nothing is recorded until the next start");
    else recorder = std::move(*opened);
  }

  /// After a crash, and however large it is, beside the work: nobody waits for it.
  void look_through_journal() {
    (void)auditor.start([this, path = places.journal]() -> Worker::Answer {
      const auto wrong = check_journal(path);
      return [this, text = wrong ? *wrong : wrong.error().text] {
        if (text.empty()) return log.say(LogLevel::info, "the journal is sound, after an end that was not orderly");
        log.say(LogLevel::error, text);
        house->tell_self_check(text);
      };
    });
  }

  void listen() {
    auto server = ControlServer::listen(io, places.socket, [this](std::string_view request, ControlServer::Reply reply) {
      answer(request, std::move(reply));
    });
    if (server) control = std::move(*server);
    else start_troubles.push_back(server.error().text + "; `brimwatch now` cannot reach this daemon");
  }

  HouseWorld make_world() {
    HouseWorld world;
    world.wall = wall_now;
    world.steady = steady_now;
    world.post = [this](std::function<void()> what) { asio::post(io, std::move(what)); };
    world.say = [this](LogLevel level, std::string_view text, const LogFields& about) { log.say(level, text, about); };
    world.trouble = trouble_sink();
    world.make_feed = [this](const FeedSettings& settings) { return make_feed(settings, *context); };
    world.make_runner = [this](const ChannelSettings& settings, MessageRunner::Done done) {
      return make_runner(settings, std::move(done));
    };
    world.save_lessons = [this](LearnedBySymbol all, std::string file) { save_lessons(std::move(all), std::move(file)); };
    world.prepare = [this](Settings settings, std::function<void(ReadyDesk)> then) {
      prepare(std::move(settings), then);
    };
    world.keep_list = [this](const std::string& text) { keep_list(text); };
    world.make_review = [this](Date day, Timestamp now, std::function<void(NoticeRecord)> answer) {
      make_review(day, now, std::move(answer));
    };
    world.keep_days = [this](std::vector<std::pair<std::string, DailyBar>> days) { heard.keep(std::move(days)); };
    if (recorder != nullptr) {
      world.record_ticks = [this](std::span<const Tick> ticks) { recorder->ticks(ticks, context->symbols); };
      world.record_frame = [this](std::string_view feed, Timestamp received, std::string_view bytes) {
        recorder->frame(feed, received, bytes);
      };
      world.record_connection = [this](std::string_view feed, Timestamp at, bool up, std::string_view why) {
        recorder->connection(feed, at, up, why);
      };
      world.recording = [this] { return recording_row(recorder->counters()); };
    }
    world.keep_picture = [this](const std::string& id, DayPicture picture) { pictures->put(id, std::move(picture)); };
    world.end = [this](const std::string& why) { asio::post(io, [this, why] { stop(why); }); };
    world.seed = std::random_device()();
    if (right != nullptr) {
      world.stands_by = true;
      world.feed_at_takeover = shared_settings.feed == "at-takeover";
      world.share = [this](const Answer& answer, std::function<void(Status)> then) {
        if (shared != nullptr) shared->share(answer, std::move(then));
        else then(fail("the program is not ready; nothing was changed"));
      };
      world.shared = [this] { return shared == nullptr ? SharedRow{} : shared->row(); };
    }
    return world;
  }

  std::unique_ptr<FeedContext> make_context(Desk& desk) {
    return std::make_unique<FeedContext>(
        FeedContext{io, desk.symbols(), wall_now, steady_now, trouble_sink(),
                    [](const SecretSource& source) { return read_secret(source); },
                    [this] { return std::uniform_real_distribution<double>(0, 1)(random); }});
  }

  Result<std::unique_ptr<MessageRunner>> make_runner(const ChannelSettings& settings, MessageRunner::Done done) {
    ChannelContext with = default_context();
    with.acknowledged = [this, name = settings.name](const std::string& id) {
      asio::post(io, [this, id, name] {
        house->answer({.kind = AnswerKind::acknowledge, .who = name, .notice = id},
                      [this](const auto& done) { say_refused(done); });
      });
    };
    with.muted = [this, name = settings.name](const std::string& id) {
      asio::post(io, [this, id, name] {
        house->answer({.kind = AnswerKind::mute, .who = name, .span = "hour", .notice = id},
                      [this](const auto& done) { say_refused(done); });
      });
    };
    with.devices = devices.devices();
    with.taken = [this, name = name_of(settings)](const std::vector<std::string>& ids, const std::string& recipient) {
      asio::post(io, [this, name, ids, recipient] { house->on_taken(name, ids, recipient); });
    };
    if (right != nullptr) with.may_send = [right = right] { return right->holds(steady_now()); };
    auto channel = make_channel(settings, with);
    if (!channel) return tl::unexpected(channel.error());
    if (shows_pictures(settings)) *channel = pictured(std::move(*channel), pictures, picture_use(settings));
    if (settings.kind == "email") *channel = std::make_unique<WithReviewPages>(std::move(*channel), review_pages());
    if (!settings.page_url.empty()) {
      if (const auto links = answer_links()) *channel = with_links(std::move(*channel), *links, settings.page_url);
      else return tl::unexpected(links.error());
    }
    if (right == nullptr) return std::make_unique<ChannelRunner>(std::move(*channel), std::move(done));
    *channel = while_it_may_speak(std::move(*channel), right);
    return while_it_may_speak(std::make_unique<ChannelRunner>(std::move(*channel), std::move(done)), right,
                              shared_settings.name);
  }

  /// Called on a channel's thread. The settings are read anew: those in force belong to the loop's thread.
  WithReviewPages::MakePage review_pages() {
    return [journal = places.journal, config = places.config](const NoticeRecord& review) -> Result<EveningPage> {
      const Loaded loaded = load_settings(config, {.calendars = Calendar::known()});
      if (!loaded.ok()) return fail(to_string(loaded.problems.front()));
      auto made = make_evening_review(journal, loaded.settings, review.notice.day, review.notice.time, review.offset);
      if (!made) return tl::unexpected(made.error());
      return std::move(made->page);
    };
  }

  void make_review(Date day, Timestamp now, std::function<void(NoticeRecord)> answer) {
    const auto settings = std::make_shared<Settings>(house->desk().settings());
    const auto refuse = [this, day](const std::string& why) {
      trouble(LogLevel::warning, "review of " + to_string(day) + ": " + why + "; none is sent, `brimwatch review --day " +
                                     to_string(day) + "` makes it");
    };
    start_chore(
        [journal = places.journal, settings, day, now, offset = house->offset(), answer = std::move(answer),
         refuse]() -> Worker::Answer {
          auto made = make_evening_review(journal, *settings, day, now, offset);
          if (!made) return [refuse, why = made.error().text] { refuse(why); };
          return [answer, record = std::move(made->record)] { answer(record); };
        },
        refuse);
  }

  void trouble(LogLevel level, std::string_view text) { log.trouble(level, text, wall_now()); }

  LogSink trouble_sink() {
    return [this](LogLevel level, std::string_view text, const LogFields& about) {
      log.trouble(level, text, wall_now(), about);
    };
  }

  /// What may take long, off the loop. `refuse` is told why it was not done.
  void start_chore(Worker::Job job, const std::function<void(const std::string&)>& refuse) {
    if (!chores.start(std::move(job), [refuse] { refuse("the disk has not answered for " + kChoreText); }))
      refuse("too much waits for a disk that does not answer");
  }

  void save_lessons(LearnedBySymbol all, std::string file) {
    const auto refuse = [this](const std::string& why) {
      trouble(LogLevel::warning,
              "learned curves: " + why + "; what this evening taught is kept till the end of the program");
    };
    start_chore(
        [all = std::move(all), file = std::move(file), refuse]() -> Worker::Answer {
          const auto saved = write_learned(file, all);
          if (saved) return {};
          return [refuse, why = saved.error().text] { refuse(why); };
        },
        refuse);
    renew_lifts();
  }

  /// What its user's own crossings have taught so far, for the days from tomorrow on; nothing where it is no news.
  void renew_lifts() {
    const auto refuse = [this](const std::string& why) {
      trouble(LogLevel::warning,
              "own crossings: " + why + "; what they taught is not renewed, the next evening tries again");
    };
    const Date tomorrow = house->desk().main_calendar().local_date(wall_now()) + 1;
    start_chore(
        [this, journal = places.journal, settings = std::make_shared<Settings>(house->desk().settings()), tomorrow,
         refuse]() -> Worker::Answer {
          auto lifts = renew_own_lifts(journal, *settings, tomorrow);
          if (!lifts) return [refuse, why = lifts.error().text] { refuse(why); };
          if (lifts->empty()) return {};
          return [this, lifts = std::move(*lifts)] { house->take_own_lifts(lifts); };
        },
        refuse);
  }

  // --- past days ---

  void keep_history() {
    history = std::make_unique<HistoryKeeper>(HistoryKeeper::World{
        io, wall_now, [this]() -> const Settings& { return house->desk().settings(); },
        [this]() -> const Calendar& { return house->desk().main_calendar(); },
        [this](std::function<void()> job, std::function<void()> then) {
          return fetching.start(
              [job = std::move(job), then = std::move(then)]() -> Worker::Answer {
                job();
                return then;
              },
              [this] {
                if (history != nullptr) history->abandon("the disk has not answered for " + kChoreText);
              });
        },
        [this] { days_are_new = true; }, [this](const std::string& what) { house->note_history(what); },
        [this](const std::string& what) { house->tell_self_check(what); },
        [this](LogLevel level, std::string_view text) { trouble(level, text); }});
  }

  /// The settings in force with the new days; where others come into force meanwhile, theirs are read instead.
  void renew_history() {
    const auto settings = std::make_shared<Settings>(house->desk().settings());
    const auto refuse = [this](const std::string& why) {
      trouble(LogLevel::warning, "past days: " + why + "; the next reload reads them");
    };
    start_chore(
        [this, settings, refuse, of = house->applied()]() -> Worker::Answer {
          return [this, refuse, of,
                  ready = std::make_shared<ReadyDesk>(ReadyDesk{{}, Desk::prepare(std::move(*settings))})] {
            if (stopping) return;
            if (!ready->parts) return refuse(ready->parts.error().text);
            if (house->renew(std::move(*ready), of)) now_text.forget();
            else days_are_new = true;  // something else came into force: once more
          };
        },
        refuse);
  }

  // --- time ---

  void beat() {
    timer.expires_after(kHeartbeat);
    timer.async_wait([this](const boost::system::error_code& error) {
      if (error || stopping) return;
      house->on_beat();
      history->on_beat();
      if (std::exchange(days_are_new, false)) renew_history();  // the next plan rests on today too
      upkeep.on_beat(wall_now(), house->desk().main_calendar(), house->desk().settings());
      measure_journal();
      feed_watchdog();
      pulse->on_beat(house->desk().settings().life, steady_now(), house->progress(), house->is_well());
      beat();
    });
  }

  void feed_watchdog() {
    const Nanos interval = service.watchdog_interval();
    if (interval == 0 || steady_now() - watchdog_fed < interval / 2) return;
    if (std::exchange(progress_seen, house->progress()) == house->progress()) return;
    watchdog_fed = steady_now();
    service.alive();
  }

  // --- control ---

  void answer(std::string_view request, ControlServer::Reply reply) {
    if (devices.ask(request, reply)) return;
    switch (ask_of(request)) {
      case Ask::now:
        return now_text.get([reply](const SharedText::Text& text) { reply(*text); });
      case Ask::reload:
        reload_replies.push_back(std::move(reply));
        return reload();
      case Ask::answer:
        return take_answer(request, "command line", std::move(reply));
      case Ask::hand_over:
        return hand_over(std::move(reply));
      case Ask::unknown:
        break;
    }
    reply(error_json("expected ask to be now, reload, hand-over, acknowledge, mute, unmute, drop, add, bought or sold"));
  }

  /// With the key that is beside the journal.
  Result<AnswerLinks> answer_links() const {
    return AnswerLinks::open((std::filesystem::path(places.journal).parent_path() / "answer.key").string());
  }

  /// `who` where the request does not say.
  void take_answer(std::string_view text, const std::string& who, ControlServer::Reply reply) {
    const auto links = is_link_request(text) ? answer_links() : Result<AnswerLinks>(fail(""));
    auto request = links ? links->request_of(text, wall_now()) : request_of(text);
    if (!request) return reply(error_json(request.error().text));
    if (request->who.empty()) request->who = who;
    house->answer(*request, [this, reply = std::move(reply)](const Result<AnswerDone>& done) {
      now_text.forget();
      reply(done ? done_json(done->answer, done->words, house->offset()) : error_json(done.error().text));
    });
  }

  /// From our own page, by one who may answer.
  void answer_page(const WebRequest& request, const std::function<void(std::string json, bool done)>& reply) {
    const std::string who = request.visitor.id.empty() ? "page" : request.visitor.name;
    take_answer(request.body, who, [reply](std::string json) {
      const bool done = json.starts_with("{\"done\"");
      reply(std::move(json), done);
    });
  }

  /// Of an answer that nobody waits for.
  void say_refused(const Result<AnswerDone>& done) {
    if (!done) trouble(LogLevel::warning, "answer: " + done.error().text);
  }

  /// Aside, as at a reload.
  void prepare(Settings settings, const std::function<void(ReadyDesk)>& then) {
    start_chore(
        [settings = std::make_shared<Settings>(std::move(settings)), then]() -> Worker::Answer {
          return [then, ready = std::make_shared<ReadyDesk>(ReadyDesk{{}, Desk::prepare(std::move(*settings)), 0})] {
            then(std::move(*ready));
          };
        },
        [then](const std::string& why) {
          then({{}, fail(why), 0});
        });
  }

  /// For people; what counts are the journal's rows.
  void keep_list(const std::string& text) {
    const std::string path = (std::filesystem::path(places.journal).parent_path() / "added.toml").string();
    const auto refuse = [this, path](const std::string& why) {
      trouble(LogLevel::warning, path + ": " + why + "; the journal has all of it");
    };
    start_chore(
        [this, path, text, refuse]() -> Worker::Answer {
          const Result<std::string> kept = keep_added_file(path, text);
          if (!kept) return [refuse, why = kept.error().text] { refuse(why); };
          if (kept->empty()) return {};
          return [this, path, aside = *kept] { tell_changed_by_hand(path, aside); };
        },
        refuse);
  }

  void tell_changed_by_hand(const std::string& path, const std::string& aside) {
    const std::string text =
        path +
        " was changed by hand; it is a copy that nobody reads, and nothing was taken from it: " + "your version is " +
        aside + " now. What is watched is changed by brimwatch watch add and " + "watch drop, or in a list of your own";
    log.say(LogLevel::warning, text);
    house->tell_self_check(text);
  }

  void hand_over(ControlServer::Reply reply) {
    if (shared == nullptr) return reply(error_answer("there is no [shared] in the configuration"));
    shared->hand_over([reply = std::move(reply)](const std::string& error) {
      reply(error.empty() ? "{\"fine\":true}\n" : error_answer(error));
    });
  }

  /// The house's, and what only the daemon around it knows.
  Snapshot snapshot() {
    Snapshot view = house->snapshot();
    view.upkeep.started = started_at;
    view.upkeep.log_lines_dropped = log.dropped();
    view.upkeep.journal_bytes = journal_bytes;
    view.upkeep.has_heartbeat = !house->desk().settings().life.heartbeat_url.empty();
    if (pulse != nullptr) {
      view.upkeep.heartbeats = pulse->called();
      view.upkeep.heartbeats_failed = pulse->failed();
      view.upkeep.heartbeat_failing = pulse->is_failing();
    }
    return view;
  }

  /// Of its file and of the log beside it. Aside: the disk may hang. It is asked for, never opened.
  void measure_journal() {
    if (journal_measured != 0 && steady_now() - journal_measured < kMeasureEvery) return;
    journal_measured = steady_now();
    (void)chores.start(
        [this, path = places.journal]() -> Worker::Answer {
          std::uint64_t bytes = 0;
          for (const char* ending : {"", "-wal"}) {
            std::error_code none;
            const auto size = std::filesystem::file_size(path + ending, none);
            if (!none) bytes += size;
          }
          return [this, bytes] { journal_bytes = bytes; };
        },
        [] {});
  }

  /// The snapshot is gathered here, and made into text aside: the feed does not wait for it.
  std::function<std::string()> gather_now() {
    return [view = std::make_shared<const Snapshot>(snapshot()), offset = house->offset()] {
      return to_json(*view, offset) + "\n";
    };
  }

  void run_aside(std::function<void()> work, std::function<void()> then) {
    (void)renderer.start([work = std::move(work), then = std::move(then)]() -> Worker::Answer {
      work();
      return then;
    });
  }

  /// As the settings want it. A port that cannot be had costs the page, never the notices.
  void show_page() {
    const PageSettings wanted = house->desk().settings().page;
    draw_pictures(wanted);
    know_devices(wanted);
    if (wanted == shown && page != nullptr) return renew_keys(wanted);
    page.reset();
    shown = wanted;
    if (!wanted.on) return;
    auto opened = StatusPage::open(
        io, wanted.port, wanted.everybody,
        {[this] { return snapshot(); }, [this] { return house->offset(); },
         [this](std::string_view symbol) {
           const auto found = base_pictures.find(symbol);
           return found == base_pictures.end() ? std::string() : found->second;
         },
         [this](std::string_view symbol) { return house->day_of(symbol); }, [this] { return house->days(); }, steady_now,
         [this](auto work, auto then) { run_aside(std::move(work), std::move(then)); },
         [this](const WebRequest& request, auto reply) { answer_page(request, std::move(reply)); },
         [this](const WebRequest& request, const auto& reply) { return devices.answer(request, reply); },
         [this](std::string_view cookie) { return devices.visitor(cookie); }});
    if (!opened)
      return log.trouble(LogLevel::error, "status page: " + opened.error().text + "; it is not shown", wall_now());
    page = std::move(*opened);
    log.say(LogLevel::info, "status page: " + page->address());
    open_to_devices(wanted);
  }

  void know_devices(const PageSettings& wanted) {
    bool pushes = false;
    for (const ChannelSettings& channel : house->desk().settings().channels)
      pushes = pushes || (channel.enabled && channel.kind == "push");
    const bool open = wanted.on && !wanted.listen.empty();
    devices.know(open ? address_to_show(wanted.address) : "", pushes);
  }

  /// The page for paired devices. What is wrong with it costs that, and nothing else.
  void open_to_devices(const PageSettings& wanted) {
    page_keys.reset();
    if (wanted.listen.empty()) return;
    if (wanted.certificate.empty()) return serve_devices(wanted);
    read_keys(wanted, "it is not served there", [this, wanted](std::shared_ptr<TlsKeys> keys) {
      page_keys = std::move(keys);
      serve_devices(wanted);
    });
  }

  void serve_devices(const PageSettings& wanted) {
    if (page == nullptr || wanted != shown) return;
    const auto end = parse_listen(wanted.listen);
    const std::string address = address_to_show(wanted.address);
    const auto opened =
        page->open_to_devices(io, {end->port, end->host, address.substr(address.find("//") + 2), page_keys});
    if (!opened)
      return trouble(LogLevel::error, "status page for devices: " + opened.error().text + "; it is not served there");
    log.say(LogLevel::info, "status page for devices: " + address + ", on " + wanted.listen);
  }

  /// At every reload: a certificate is renewed under the same name.
  void renew_keys(const PageSettings& wanted) {
    if (page_keys == nullptr) return wanted.listen.empty() ? void() : open_to_devices(wanted);
    read_keys(wanted, "the old certificate stays", [this](const std::shared_ptr<TlsKeys>& keys) {
      if (page_keys != nullptr) page_keys->take(*keys);
    });
  }

  void read_keys(const PageSettings& wanted, const std::string& otherwise,
                 std::function<void(std::shared_ptr<TlsKeys>)> then) {
    const auto refuse = [this, otherwise](const std::string& why) {
      trouble(LogLevel::error, "status page for devices: " + why + "; " + otherwise);
    };
    start_chore(
        [wanted, refuse, then = std::move(then)]() -> Worker::Answer {
          auto keys = TlsKeys::load(wanted.certificate, wanted.key);
          if (!keys) return [refuse, why = keys.error().text] { refuse(why); };
          return [then, keys = std::move(*keys)] { then(keys); };
        },
        refuse);
  }

  /// At the start and at a reload: a weekend's new bars come with its new list.
  void draw_pictures(const PageSettings& wanted) {
    if (!wanted.on) return base_pictures.clear();
    const auto settings = std::make_shared<Settings>(house->desk().settings());
    start_chore(
        [this, settings]() -> Worker::Answer {
          return [this, drawn = std::make_shared<BasePictures>(draw_bases(*settings))] {
            base_pictures = std::move(*drawn);
          };
        },
        [this](const std::string& why) { trouble(LogLevel::warning, "pictures of bases: " + why + "; none are shown"); });
  }

  // --- reload and end ---

  void wait_for_signals() {
    signals.async_wait([this](const boost::system::error_code& error, int number) {
      if (error) return;
      if (number == SIGHUP) reload();
      else stop(number == SIGTERM ? "asked to end" : "interrupted");
      if (!stopping) wait_for_signals();
    });
  }

  /// Files are read and the watches laid out on a thread of their own, so that the feed waits for little.
  void reload() {
    if (!places.reloads) {
      log.say(LogLevel::info, "nothing is reloaded in a rehearsal");
      return answer_reloads("nothing is reloaded in a rehearsal");
    }
    if (stopping || house->stage() == Stage::starting) return void(reload_wanted = true);
    service.reloading();
    start_chore(
        [this, config = places.config, journal = places.journal,
         answers = ListsOfAnswers{[book = house->answers()](Settings& settings) { lay_over(settings, book); },
                                  house->lists()}]() -> Worker::Answer {
          LoadOptions how = usable();
          how.journal = journal;
          return
              [this, ready = std::make_shared<ReadyDesk>(read_ready(config, how, answers))] { apply(std::move(*ready)); };
        },
        [this](const std::string& why) {
          house->refuse({}, "it was not read: " + why);
          service.ready(ready_line());
          answer_reloads(house->refusal() + "; the old configuration stays in force");
        });
  }

  void apply(ReadyDesk ready) {
    if (stopping) return;
    const Nanos begun = steady_now();
    const bool in_force = house->apply(std::move(ready));
    if (in_force) {
      now_text.forget();
      history->on_reload();
      if (shared != nullptr) shared->on_reload();
      log.set_level(house->desk().settings().log_level);
      log.set_format(places.json_log ? "json" : house->desk().settings().log_format);
      show_page();
      const std::string waited = std::to_string((steady_now() - begun) / 1'000'000);
      log.say(LogLevel::info, "reloaded: " + ready_line() + "; the feed waited " + waited + " ms");
    }
    service.ready(ready_line());
    answer_reloads(in_force ? "" : house->refusal() + "; the old configuration stays in force");
  }

  /// Whoever asked for a reload at the control socket hears what came of it. `why`: it is not in force.
  void answer_reloads(const std::string& why) {
    for (const auto& reply : std::exchange(reload_replies, {})) {
      if (!why.empty()) reply(error_json(why));
      else reply(nlohmann::ordered_json{{"fine", true}, {"words", "reloaded: " + ready_line()}}.dump() + "\n");
    }
  }

  void stop(const std::string& why) {
    if (stopping) return;
    stopping = true;
    log.say(LogLevel::info, "ending: " + why);
    service.stopping(why);
    timer.cancel();
    signals.cancel();
    control.reset();
    page.reset();
    pulse.reset();
    history.reset();
    upkeep.stop();
    if (house->stage() == Stage::starting) return end();
    ending = std::make_unique<Ending>(
        *house, Ending::World{steady_now, [this](std::chrono::milliseconds most) { return writer->stop(most); }});
    wait_for_end();
  }

  void wait_for_end() {
    if (ending->step()) return end();
    timer.expires_after(Ending::kStep);
    timer.async_wait([this](const boost::system::error_code&) { wait_for_end(); });
  }

  void end() {
    kept_all = ending == nullptr || ending->kept_all();
    if (!kept_all) log.say(LogLevel::error, "journal: not everything could be written");
    if (shared == nullptr) io.stop();
    else shared->leave([this] { io.stop(); });
  }

  /// The rest, after the loop: whatever of it hangs is left behind. True: nothing was.
  bool close() {
    renderer.stop(std::chrono::milliseconds{0});
    auditor.stop(std::chrono::milliseconds{0});  // it only reads
    const bool records_ended = records == nullptr || records->stop(kLastWait);
    fetching.stop(std::chrono::milliseconds{0});  // a file is whole whenever it ends
    const bool chores_ended = chores.stop(kLastWait), opening_ended = opening.stop(kLastWait);
    const bool shared_ended = shared == nullptr || shared->stop(kLastWait);
    recorder.reset();
    return shared_ended && records_ended && chores_ended && opening_ended &&
           (ending == nullptr || !ending->left_behind());
  }

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

Daemon::Daemon(Settings settings, DaemonPlaces places)
    : impl_(std::make_unique<Impl>(std::move(settings), std::move(places))) {}
Daemon::~Daemon() = default;

void Daemon::end(const std::string& why) {
  const std::lock_guard lock(alive_);
  if (impl_ != nullptr) asio::post(impl_->io, [impl = impl_.get(), why] { impl->stop(why); });
}

/// A thread that is left behind, in a disk's or a name server's hands, would be waited for by whatever it shares
/// something with, a library or the end of the process itself.
int Daemon::run() {
  const int status = impl_->run();
  LastResort resort(status, kGoneAfter);
  const bool all_ended = impl_->close();
  {
    const std::lock_guard lock(alive_);
    impl_.reset();
  }
  if (!all_ended) resort.now();
  return status;
}

}  // namespace brimwatch
