#include "app/heard_days.h"

#include <iterator>
#include <utility>

#include "config/paths.h"
#include "history/update.h"

namespace brimwatch {
namespace {

/// Empty: all are in their files; one that cannot be written keeps the others from nothing.
std::string write_days(const HistorySettings& history, const HeardDays::Days& days) {
  if (!make_private_directory(history.daily)) return history.daily + ": cannot be made; no day that was heard is kept";
  clear_unfinished_days(history.daily);
  std::string why;
  std::size_t failed = 0;
  for (const auto& [symbol, bar] : days) {
    const std::string error = take_own_day(history, symbol, bar).error;
    if (!error.empty() && failed++ == 0) why = error;
  }
  if (failed == 0) return "";
  return why + "; " + std::to_string(failed) + " of " + std::to_string(days.size()) + " are not kept";
}

}  // namespace

void HeardDays::keep(Days days) {
  waiting_.insert(waiting_.end(), std::move_iterator(days.begin()), std::move_iterator(days.end()));
  if (waiting_.size() > kWaitingMost) {
    const std::size_t over = waiting_.size() - kWaitingMost;
    waiting_.erase(waiting_.begin(), waiting_.begin() + static_cast<std::ptrdiff_t>(over));
    world_.trouble("days that were heard: more than " + std::to_string(kWaitingMost) +
                   " wait for their files; the oldest " + std::to_string(over) + " are not kept");
  }
  if (!in_hand_) begin();
}

void HeardDays::begin() {
  in_hand_ = true;
  HistorySettings own = world_.settings();
  own.daily = own.heard;
  world_.aside([this, days = std::exchange(waiting_, {}),
                own]() -> Worker::Answer { return [this, why = write_days(own, days)] { on_written(why); }; },
               [this](const std::string& why) { give_up(why + "; those of the last days are not kept"); });
}

void HeardDays::on_written(const std::string& why) {
  if (!why.empty()) world_.trouble("days that were heard: " + why);
  world_.kept();
  in_hand_ = false;
  if (!waiting_.empty()) begin();
}

/// The disk does not answer: what waits is tried with the next.
void HeardDays::give_up(const std::string& why) {
  in_hand_ = false;
  world_.trouble("days that were heard: " + why);
}

}  // namespace brimwatch
