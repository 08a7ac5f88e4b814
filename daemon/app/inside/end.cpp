// The end, a step at a time; whatever hangs is left behind.
#include "app/inside/impl.h"

namespace brimwatch {
namespace {

constexpr auto kLastWait = std::chrono::milliseconds(100);

}  // namespace

void Daemon::Impl::stop(const std::string& why) {
  if (stopping) return;
  stopping = true;
  say(LogLevel::info, "ending: " + why);
  service.stopping(why);
  timer.cancel();
  signals.cancel();
  control->stop();
  page->stop();
  heartbeat.reset();
  history->stop();
  reloads->stop();
  upkeep.stop();
  if (house->stage() == Stage::starting) return end();
  ending = std::make_unique<Ending>(
      *house, Ending::World{steady_now, [this](std::chrono::milliseconds most) { return journal->stop_writing(most); }});
  wait_for_end();
}

void Daemon::Impl::wait_for_end() {
  journal->on_beat();
  if (ending->step()) return end();
  timer.expires_after(Ending::kStep);
  timer.async_wait([this](const boost::system::error_code&) { wait_for_end(); });
}

void Daemon::Impl::end() {
  kept_all = ending == nullptr || ending->kept_all();
  if (!kept_all) say(LogLevel::error, "journal: not everything could be written");
  shared->leave([this] { io.stop(); });
}

/// The rest, after the loop: whatever of it hangs is left behind. True: nothing was.
bool Daemon::Impl::close() {
  const bool records_ended = records.stop(kLastWait);
  const bool chores_ended = chores.stop(kLastWait);
  const bool journal_ended = journal == nullptr || journal->stop(kLastWait);
  const bool shared_ended = shared == nullptr || shared->stop(kLastWait);
  recorder.reset();
  return shared_ended && records_ended && chores_ended && journal_ended && (ending == nullptr || !ending->left_behind());
}

}  // namespace brimwatch
