// What is done at every beat.
#include <filesystem>

#include "app/inside/impl.h"

namespace brimwatch {
namespace {

constexpr auto kHeartbeat = std::chrono::milliseconds(250);
constexpr Nanos kMeasureEvery = kMinute;  ///< of the journal's size

}  // namespace

void Daemon::Impl::beat() {
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

void Daemon::Impl::feed_watchdog() {
  const Nanos interval = service.watchdog_interval();
  if (interval == 0 || steady_now() - watchdog_fed < interval / 2) return;
  if (std::exchange(progress_seen, house->progress()) == house->progress()) return;
  watchdog_fed = steady_now();
  service.alive();
}

/// Of its file and of the log beside it. Aside: the disk may hang. It is asked for, never opened.
void Daemon::Impl::measure_journal() {
  if (journal_measured != 0 && steady_now() - journal_measured < kMeasureEvery) return;
  journal_measured = steady_now();
  (void)chores.start(
      [this, path = places.journal]() -> Worker::Answer {
        std::uint64_t bytes = 0;
        for (const char* part : {"", "-wal"}) {
          std::error_code none;
          const auto size = std::filesystem::file_size(path + part, none);
          if (!none) bytes += size;
        }
        return [this, bytes] { journal_bytes = bytes; };
      },
      [] {});
}

}  // namespace brimwatch
