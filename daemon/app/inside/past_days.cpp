// Past days: fetched, and put in force.
#include "app/inside/impl.h"

namespace brimwatch {

void Daemon::Impl::keep_history() {
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
void Daemon::Impl::renew_history() {
  const auto settings = std::make_shared<Settings>(house->desk().settings());
  const auto refuse = [this](const std::string& why) {
    trouble(LogLevel::warning, "past days: " + why + "; the next reload reads them");
  };
  start_chore(
      [this, settings, refuse, of = house->applied()]() -> Worker::Answer {
        return
            [this, refuse, of, ready = std::make_shared<ReadyDesk>(ReadyDesk{{}, Desk::prepare(std::move(*settings))})] {
              if (stopping) return;
              if (!ready->parts) return refuse(ready->parts.error().text);
              if (house->renew(std::move(*ready), of)) now_text.forget();
              else days_are_new = true;  // something else came into force: once more
            };
      },
      refuse);
}

}  // namespace brimwatch
