// The end, a step at a time; whatever hangs is left behind.
#include "app/inside/impl.h"

namespace brimwatch {
namespace {

constexpr auto kLastWait = std::chrono::milliseconds(100);

}  // namespace

void Daemon::Impl::stop(const std::string& why) {
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

void Daemon::Impl::wait_for_end() {
  if (ending->step()) return end();
  timer.expires_after(Ending::kStep);
  timer.async_wait([this](const boost::system::error_code&) { wait_for_end(); });
}

void Daemon::Impl::end() {
  kept_all = ending == nullptr || ending->kept_all();
  if (!kept_all) log.say(LogLevel::error, "journal: not everything could be written");
  if (shared == nullptr) io.stop();
  else shared->leave([this] { io.stop(); });
}

/// The rest, after the loop: whatever of it hangs is left behind. True: nothing was.
bool Daemon::Impl::close() {
  renderer.stop(std::chrono::milliseconds{0});
  auditor.stop(std::chrono::milliseconds{0});  // it only reads
  const bool records_ended = records == nullptr || records->stop(kLastWait);
  fetching.stop(std::chrono::milliseconds{0});  // a file is whole whenever it ends
  const bool chores_ended = chores.stop(kLastWait), opening_ended = opening.stop(kLastWait);
  const bool shared_ended = shared == nullptr || shared->stop(kLastWait);
  recorder.reset();
  return shared_ended && records_ended && chores_ended && opening_ended && (ending == nullptr || !ending->left_behind());
}

}  // namespace brimwatch
