// The start: alone on its journal, a house, and then all that keeps it company.
#include <algorithm>
#include <boost/asio/post.hpp>
#include <csignal>
#include <filesystem>
#include <memory>
#include <random>

#include "adapters/feeds/merge.h"
#include "adapters/feeds/table.h"
#include "answers/lists.h"
#include "app/inside/desk_layout.h"
#include "app/inside/impl.h"
#include "config/secret.h"

namespace brimwatch {
namespace {

constexpr int kNotKept = 1;  ///< exit status, as the next
constexpr int kTaken = 6;    ///< commands/command.h

std::function<double()> jitter() {
  return [random = std::make_shared<std::mt19937_64>(std::random_device()())] {
    return std::uniform_real_distribution<double>(0, 1)(*random);
  };
}

}  // namespace

Daemon::Impl::Impl(Settings settings, DaemonPlaces where)
    : places(std::move(where)),
      log(settings.log_level, places.json_log ? "json" : settings.log_format),
      say([this](LogLevel level, std::string_view text, const LogFields& about) { log.say(level, text, about); }),
      trouble([this](LogLevel level, std::string_view text, const LogFields& about) {
        log.trouble(level, text, wall_now(), about);
      }),
      first_settings(std::move(settings)),
      devices(devices_file(places.journal), {chores.aside(), wall_now, steady_now,
                                             [this](LogLevel level, std::string_view text) {
                                               if (level == LogLevel::info) say(level, text);
                                               else trouble(level, text);  // who guesses does not fill the log
                                             }}),
      upkeep(io, places.journal, [this](LogLevel level, std::string_view text) { say(level, text); }),
      journal_size(chores, places.journal),
      records(io, places.journal, trouble),
      now_text([this] { return gather_now(); }, chores.aside(), steady_now, {.keep = kSecond, .of_cost = 20}) {}

std::string Daemon::Impl::beside_journal(const char* name) const {
  return (std::filesystem::path(places.journal).parent_path() / name).string();
}

int Daemon::Impl::run() {
  std::signal(SIGPIPE, SIG_IGN);
  if (const auto started = start(); !started) {
    say(LogLevel::error, started.error().text);
    return is_taken ? kTaken : 1;
  }
  io.run();
  return kept_all ? 0 : kNotKept;
}

/// What costs something else than the notices is told and gone without: a daemon that is not there tells nothing.
Status Daemon::Impl::start() {
  if (const auto alone = take_lock(); !alone) return alone;
  auto opened = Desk::open(std::move(first_settings));
  if (!opened) return fail(opened.error().text);
  open_recording(**opened);
  make_before_house(**opened);
  auto made = House::open(make_world(), std::move(*opened));
  if (!made) return fail(made.error().text);
  house = std::move(*made);
  house->note_warnings(places.warnings);
  make_after_house();
  wait_for_signals();
  journal->open();
  return {};
}

Status Daemon::Impl::take_lock() {
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

void Daemon::Impl::open_recording(const Desk& desk) {
  auto opened = open_recorder(desk);
  if (!opened) start_troubles.push_back(opened.error().text + "; nothing is recorded until the next start");
  else recorder = std::move(*opened);
}

void Daemon::Impl::make_before_house(Desk& desk) {
  shared = std::make_unique<SharedPart>(desk.settings().shared);
  feed_context = std::make_unique<FeedContext>(FeedContext{io, desk.symbols(), wall_now, steady_now, trouble,
                                                           [](const SecretSource& source) { return read_secret(source); },
                                                           jitter()});
  channels = std::make_unique<ChannelMaker>(
      io,
      ChannelMaker::With{places.config, places.journal, beside_journal("answer.key"), devices.devices(), shared->right(),
                         shared->member()},
      ChannelMaker::Events{[this](const AnswerRequest& request) { answer_from_channel(request); },
                           [this](const std::string& channel, const std::vector<std::string>& ids,
                                  const std::string& recipient) { house->on_taken(channel, ids, recipient); }});
}

HouseWorld Daemon::Impl::make_world() {
  HouseWorld world;
  world.wall = wall_now;
  world.steady = steady_now;
  world.post = [this](std::function<void()> what) { asio::post(io, std::move(what)); };
  world.say = say;
  world.trouble = trouble;
  world.make_feed = [this](const FeedSettings& settings) { return make_feed(settings, *feed_context); };
  world.make_runner = [this](const ChannelSettings& settings, MessageRunner::Done done) {
    return channels->make(settings, std::move(done));
  };
  world.save_lessons = [this](LearnedBySymbol all, std::string file) {
    evening->save_lessons(std::move(all), std::move(file));
  };
  world.prepare = [this](Settings settings, const std::function<void(ReadyDesk)>& then) {
    lay_out(chores, std::move(settings), then);
  };
  world.keep_list = [this](const std::string& list) { added_file->keep(list); };
  world.make_review = [this](Date day, Timestamp now, std::function<void(NoticeRecord)> answer) {
    evening->make_review(day, now, std::move(answer));
  };
  world.keep_days = [this](HeardDays::Days days) { history->keep_heard(std::move(days)); };
  world.keep_picture = [this](const std::string& id, DayPicture picture) {
    channels->keep_picture(id, std::move(picture));
  };
  world.end = [this](const std::string& why) { asio::post(io, [this, why] { stop(why); }); };
  world.seed = std::random_device()();
  if (recorder != nullptr) record_into(*recorder, feed_context->symbols, world);
  shared->join(world);
  return world;
}

void Daemon::Impl::make_after_house() {
  const auto forget_now = [this] { now_text.forget(); };
  journal = std::make_unique<JournalService>(
      io, places.journal, *house,
      JournalService::World{[this] { begin_life(); }, [this] { on_journal_read(); },
                            [this](std::vector<NoticeRecord> written) { return shared->to_tell(std::move(written)); },
                            say});
  evening = std::make_unique<EveningChores>(*house, chores, places.journal, trouble);
  added_file = std::make_unique<AddedFileKeeper>(*house, chores, beside_journal("added.toml"), say, trouble);
  history = std::make_unique<HistoryService>(io, *house, chores, forget_now, trouble);
  heartbeat = std::make_unique<Heartbeat>(io, trouble);
  answers = std::make_unique<AnswerIntake>(*house, beside_journal("answer.key"), forget_now);
  page = std::make_unique<PageService>(io, *house, chores, devices,
                                       PageService::World{[this] { return snapshot(); },
                                                          [this](const WebRequest& request, auto reply) {
                                                            answers->take_from_page(request, std::move(reply));
                                                          },
                                                          say, trouble});
  reloads = std::make_unique<Reloads>(places, *house, chores, service,
                                      Reloads::World{[this] { return ready_line(); }, [this] { on_reload(); }, say});
  control = std::make_unique<ControlRequests>(ControlRequests::World{devices, now_text, *answers, *reloads, *shared});
}

void Daemon::Impl::on_journal_read() {
  added_file->keep(added_list(house->answers()));
  shared->on_journal_read();
}

void Daemon::Impl::begin_life() {
  shared->start(io, *house, journal->keeper(), records, chores, trouble);
  if (const Status heard = control->listen(io, places.socket); !heard)
    start_troubles.push_back(heard.error().text + "; `brimwatch now` cannot reach this daemon");
  for (const std::string& one : start_troubles) {
    say(LogLevel::error, one);
    house->tell_self_check(one);
  }
  page->show();
  beat();
  say(LogLevel::info, ready_line());
  service.ready(ready_line());
  reloads->on_start();
}

/// For the service manager's status and the log: a feed that can never come is no feed.
std::string Daemon::Impl::ready_line() const {
  const auto& feeds = house->desk().settings().feeds;
  const bool deaf = !has_standard_input() && std::any_of(feeds.begin(), feeds.end(), [](const FeedSettings& feed) {
    return feed.enabled && is_standard_input(feed);
  });
  return house->ready_line() + (deaf ? "; blind: there is no standard input here, name another feed" : "");
}

}  // namespace brimwatch
