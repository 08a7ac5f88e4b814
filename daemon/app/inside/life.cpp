// While it runs: signals, beats, and what is seen of it.
#include "app/inside/impl.h"
#include "app/snapshot_json.h"

namespace brimwatch {
namespace {

constexpr auto kBeatEvery = std::chrono::milliseconds(250);

}  // namespace

void Daemon::Impl::wait_for_signals() {
  signals.async_wait([this](const boost::system::error_code& error, int number) {
    if (error) return;
    if (number == SIGHUP) reloads->ask();
    else stop(number == SIGTERM ? "asked to end" : "interrupted");
    if (!stopping) wait_for_signals();
  });
}

void Daemon::Impl::beat() {
  timer.expires_after(kBeatEvery);
  timer.async_wait([this](const boost::system::error_code& error) {
    if (error || stopping) return;
    journal->on_beat();
    house->on_beat();
    history->on_beat();
    upkeep.on_beat(wall_now(), house->desk().main_calendar(), house->desk().settings());
    journal_size.on_beat(steady_now());
    watchdog.on_beat(steady_now(), house->progress());
    heartbeat->on_beat(house->desk().settings().life, steady_now(), house->progress(), house->is_well());
    beat();
  });
}

/// A new configuration is in force: what hangs on it follows.
void Daemon::Impl::on_reload() {
  now_text.forget();
  history->on_reload();
  shared->on_reload();
  log.set_level(house->desk().settings().log_level);
  log.set_format(places.json_log ? "json" : house->desk().settings().log_format);
  page->show();
}

/// The house's, and what only the daemon around it knows.
Snapshot Daemon::Impl::snapshot() const {
  Snapshot view = house->snapshot();
  view.upkeep.started = started_at;
  view.upkeep.log_lines_dropped = log.dropped();
  view.upkeep.journal_bytes = journal_size.bytes();
  view.upkeep.has_heartbeat = !house->desk().settings().life.heartbeat_url.empty();
  if (heartbeat != nullptr) {
    view.upkeep.heartbeats = heartbeat->called();
    view.upkeep.heartbeats_failed = heartbeat->failed();
    view.upkeep.heartbeat_failing = heartbeat->is_failing();
  }
  return view;
}

/// The snapshot is gathered here, and made into text aside: the feed does not wait for it.
std::function<std::string()> Daemon::Impl::gather_now() const {
  return [view = std::make_shared<const Snapshot>(snapshot()), offset = house->offset()] {
    return to_json(*view, offset) + "\n";
  };
}

/// Nobody waits for what comes of it.
void Daemon::Impl::answer_from_channel(const AnswerRequest& request) {
  house->answer(request, [this](const Result<AnswerDone>& done) {
    if (!done) trouble(LogLevel::warning, "answer: " + done.error().text);
  });
}

}  // namespace brimwatch
