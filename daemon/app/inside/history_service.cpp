#include "app/inside/history_service.h"

#include <utility>

#include "app/inside/desk_layout.h"
#include "loop/clock.h"

namespace brimwatch {

HistoryService::HistoryService(boost::asio::io_context& loop, House& house, Chores& chores,
                               std::function<void()> in_force, LogSink trouble)
    : house_(house),
      chores_(chores),
      in_force_(std::move(in_force)),
      trouble_(std::move(trouble)),
      fetching_(loop, {.deadline = Chores::kDeadline, .waiting_most = 4}),
      heard_(world_of_heard()) {
  keeper_.emplace(world_of_keeper(loop));
}

void HistoryService::on_beat() {
  keeper_->on_beat();
  if (std::exchange(are_new_, false)) put_in_force();  // the next plan rests on today too
}

void HistoryService::stop() { keeper_.reset(); }

HeardDays::World HistoryService::world_of_heard() {
  return {[this]() -> const HistorySettings& { return house_.desk().settings().history; },
          [this](Worker::Job job, const Chores::Refuse& refuse) { chores_.start(std::move(job), refuse); },
          [this] { are_new_ = true; }, [this](const std::string& text) { trouble_(LogLevel::warning, text); }};
}

HistoryKeeper::World HistoryService::world_of_keeper(boost::asio::io_context& loop) {
  return {loop,
          wall_now,
          [this]() -> const Settings& { return house_.desk().settings(); },
          [this]() -> const Calendar& { return house_.desk().main_calendar(); },
          [this](std::function<void()> job, std::function<void()> then) {
            return fetching_.start(
                [job = std::move(job), then = std::move(then)]() -> Worker::Answer {
                  job();
                  return then;
                },
                [this] {
                  if (keeper_) keeper_->abandon(Chores::kLate);
                });
          },
          [this] { are_new_ = true; },
          [this](const std::string& what) { house_.note_history(what); },
          [this](const std::string& what) { house_.tell_self_check(what); },
          trouble_};
}

/// The settings in force with the new days; where others come into force meanwhile, theirs are read instead.
void HistoryService::put_in_force() {
  lay_out(chores_, house_.desk().settings(), [this, of = house_.applied()](ReadyDesk ready) {
    if (!keeper_) return;
    if (!ready.parts)
      return trouble_(LogLevel::warning, "past days: " + ready.parts.error().text + "; the next reload reads them");
    if (house_.renew(std::move(ready), of)) in_force_();
    else are_new_ = true;  // something else came into force: once more
  });
}

}  // namespace brimwatch
