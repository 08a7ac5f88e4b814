// Signals, and a configuration that is read anew.
#include <csignal>

#include "answers/lists.h"
#include "answers/message.h"
#include "app/inside/impl.h"
#include "config/loader.h"
#include "core/text/json.h"
#include "live/usable.h"

namespace brimwatch {

void Daemon::Impl::wait_for_signals() {
  signals.async_wait([this](const boost::system::error_code& error, int number) {
    if (error) return;
    if (number == SIGHUP) reload();
    else stop(number == SIGTERM ? "asked to end" : "interrupted");
    if (!stopping) wait_for_signals();
  });
}

/// Files are read and the watches laid out on a thread of their own, so that the feed waits for little.
void Daemon::Impl::reload() {
  if (!places.reloads) {
    log.say(LogLevel::info, "nothing is reloaded in a rehearsal");
    return answer_reloads("nothing is reloaded in a rehearsal");
  }
  if (stopping || house->stage() == Stage::starting) return void(reload_wanted = true);
  service.reloading();
  start_chore(
      [this, config = places.config, journal = places.journal,
       answers = ListsOfAnswers{[book = house->answers()](Settings& settings) { lay_over(settings, book); },
                                house->lists()}]() -> Worker::Answer {
        LoadOptions how = usable();
        how.journal = journal;
        return
            [this, ready = std::make_shared<ReadyDesk>(read_ready(config, how, answers))] { apply(std::move(*ready)); };
      },
      [this](const std::string& why) {
        house->refuse({}, "it was not read: " + why);
        service.ready(ready_line());
        answer_reloads(house->refusal() + "; the old configuration stays in force");
      });
}

void Daemon::Impl::apply(ReadyDesk ready) {
  if (stopping) return;
  const Nanos begun = steady_now();
  const bool in_force = house->apply(std::move(ready));
  if (in_force) {
    now_text.forget();
    history->on_reload();
    if (shared != nullptr) shared->on_reload();
    log.set_level(house->desk().settings().log_level);
    log.set_format(places.json_log ? "json" : house->desk().settings().log_format);
    show_page();
    const std::string waited = std::to_string((steady_now() - begun) / 1'000'000);
    log.say(LogLevel::info, "reloaded: " + ready_line() + "; the feed waited " + waited + " ms");
  }
  service.ready(ready_line());
  answer_reloads(in_force ? "" : house->refusal() + "; the old configuration stays in force");
}

/// Whoever asked for a reload at the control socket hears what came of it. `why`: it is not in force.
void Daemon::Impl::answer_reloads(const std::string& why) {
  for (const auto& reply : std::exchange(reload_replies, {})) {
    if (!why.empty()) reply(error_json(why));
    else reply(OrderedJson{{"fine", true}, {"words", "reloaded: " + ready_line()}}.dump() + "\n");
  }
}

}  // namespace brimwatch
