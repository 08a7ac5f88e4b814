// The start: alone on its journal, a house, and then all that keeps it company.
#include <algorithm>
#include <boost/asio/post.hpp>
#include <csignal>

#include "adapters/feeds/merge.h"
#include "adapters/net/tls_keys.h"
#include "app/inside/impl.h"

namespace brimwatch {
namespace {

constexpr int kNotKept = 1;  ///< exit status, as the next
constexpr int kTaken = 6;    ///< commands/command.h

}  // namespace

int Daemon::Impl::run() {
  std::signal(SIGPIPE, SIG_IGN);
  if (const auto started = start(); !started) {
    log.say(LogLevel::error, started.error().text);
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

void Daemon::Impl::start_recording(const Desk& desk) {
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

void Daemon::Impl::begin_life() {
  records = std::make_unique<RecordsDesk>(io, places.journal,
                                          [this](LogLevel level, std::string_view text) { trouble(level, text); });
  if (right != nullptr)
    shared = std::make_unique<SharedMembership>(io, shared_settings, right, *house, *writer, *records,
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
std::string Daemon::Impl::ready_line() const {
  const auto& feeds = house->desk().settings().feeds;
  const bool deaf = !has_standard_input() && std::any_of(feeds.begin(), feeds.end(), [](const FeedSettings& feed) {
    return feed.enabled && is_standard_input(feed);
  });
  return house->ready_line() + (deaf ? "; blind: there is no standard input here, name another feed" : "");
}

/// Where it cannot, the others know no address of this machine, and go by etcd alone.
void Daemon::Impl::answer_directly() {
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

void Daemon::Impl::listen() {
  auto server = ControlServer::listen(io, places.socket, [this](std::string_view request, ControlServer::Reply reply) {
    answer(request, std::move(reply));
  });
  if (server) control = std::move(*server);
  else start_troubles.push_back(server.error().text + "; `brimwatch now` cannot reach this daemon");
}

}  // namespace brimwatch
