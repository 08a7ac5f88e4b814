#include "app/inside/reloads.h"

#include <memory>
#include <utility>

#include "answers/lists.h"
#include "answers/message.h"
#include "config/loader.h"
#include "core/text/json.h"
#include "live/usable.h"
#include "loop/clock.h"

namespace brimwatch {

void Reloads::ask(Reply reply) {
  replies_.push_back(std::move(reply));
  ask();
}

void Reloads::ask() {
  if (!places_.reloads) {
    world_.say(LogLevel::info, "nothing is reloaded in a rehearsal");
    return answer("nothing is reloaded in a rehearsal");
  }
  if (stopped_ || house_.stage() == Stage::starting) return void(wanted_ = true);
  service_.reloading();
  read();
}

void Reloads::on_start() {
  if (std::exchange(wanted_, false)) ask();
}

void Reloads::read() {
  chores_.start(
      [this, config = places_.config, journal = places_.journal,
       answers = ListsOfAnswers{[book = house_.answers()](Settings& settings) { lay_over(settings, book); },
                                house_.lists()}]() -> Worker::Answer {
        LoadOptions how = usable();
        how.journal = journal;
        return
            [this, ready = std::make_shared<ReadyDesk>(read_ready(config, how, answers))] { apply(std::move(*ready)); };
      },
      [this](const std::string& why) { refuse(why); });
}

void Reloads::refuse(const std::string& why) {
  house_.refuse({}, "it was not read: " + why);
  service_.ready(world_.ready_line());
  answer(house_.refusal() + "; the old configuration stays in force");
}

void Reloads::apply(ReadyDesk ready) {
  if (stopped_) return;
  const Nanos begun = steady_now();
  const bool in_force = house_.apply(std::move(ready));
  if (in_force) {
    world_.in_force();
    const std::string waited = std::to_string((steady_now() - begun) / 1'000'000);
    world_.say(LogLevel::info, "reloaded: " + world_.ready_line() + "; the feed waited " + waited + " ms");
  }
  service_.ready(world_.ready_line());
  answer(in_force ? "" : house_.refusal() + "; the old configuration stays in force");
}

/// `refusal`: why it is not in force; empty: it is.
void Reloads::answer(const std::string& refusal) {
  for (const Reply& reply : std::exchange(replies_, {})) {
    if (!refusal.empty()) reply(error_json(refusal));
    else reply(json_line(OrderedJson{{"fine", true}, {"words", "reloaded: " + world_.ready_line()}}));
  }
}

}  // namespace brimwatch
