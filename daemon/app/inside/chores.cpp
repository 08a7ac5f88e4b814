// What may take long, off the loop.
#include <filesystem>

#include "app/added_file.h"
#include "app/inside/impl.h"

namespace brimwatch {

/// What may take long, off the loop. `refuse` is told why it was not done.
void Daemon::Impl::start_chore(Worker::Job job, const std::function<void(const std::string&)>& refuse) {
  if (!chores.start(std::move(job), [refuse] { refuse("the disk has not answered for " + kChoreText); }))
    refuse("too much waits for a disk that does not answer");
}

void Daemon::Impl::run_aside(std::function<void()> work, std::function<void()> then) {
  (void)renderer.start([work = std::move(work), then = std::move(then)]() -> Worker::Answer {
    work();
    return then;
  });
}

/// Aside, as at a reload.
void Daemon::Impl::prepare(Settings settings, const std::function<void(ReadyDesk)>& then) {
  start_chore(
      [settings = std::make_shared<Settings>(std::move(settings)), then]() -> Worker::Answer {
        return [then, ready = std::make_shared<ReadyDesk>(ReadyDesk{{}, Desk::prepare(std::move(*settings)), 0})] {
          then(std::move(*ready));
        };
      },
      [then](const std::string& why) {
        then({{}, fail(why), 0});
      });
}

void Daemon::Impl::make_review(Date day, Timestamp now, std::function<void(NoticeRecord)> answer) {
  const auto settings = std::make_shared<Settings>(house->desk().settings());
  const auto refuse = [this, day](const std::string& why) {
    trouble(LogLevel::warning, "review of " + to_string(day) + ": " + why + "; none is sent, `brimwatch review --day " +
                                   to_string(day) + "` makes it");
  };
  start_chore(
      [journal = places.journal, settings, day, now, offset = house->offset(), answer = std::move(answer),
       refuse]() -> Worker::Answer {
        auto made = make_evening_review(journal, *settings, day, now, offset);
        if (!made) return [refuse, why = made.error().text] { refuse(why); };
        return [answer, record = std::move(made->record)] { answer(record); };
      },
      refuse);
}

void Daemon::Impl::save_lessons(LearnedBySymbol all, std::string file) {
  const auto refuse = [this](const std::string& why) {
    trouble(LogLevel::warning,
            "learned curves: " + why + "; what this evening taught is kept till the end of the program");
  };
  start_chore(
      [all = std::move(all), file = std::move(file), refuse]() -> Worker::Answer {
        const auto saved = write_learned(file, all);
        if (saved) return {};
        return [refuse, why = saved.error().text] { refuse(why); };
      },
      refuse);
  renew_lifts();
}

/// What its user's own crossings have taught so far, for the days from tomorrow on; nothing where it is no news.
void Daemon::Impl::renew_lifts() {
  const auto refuse = [this](const std::string& why) {
    trouble(LogLevel::warning,
            "own crossings: " + why + "; what they taught is not renewed, the next evening tries again");
  };
  const Date tomorrow = house->desk().main_calendar().local_date(wall_now()) + 1;
  start_chore(
      [this, journal = places.journal, settings = std::make_shared<Settings>(house->desk().settings()), tomorrow,
       refuse]() -> Worker::Answer {
        auto lifts = renew_own_lifts(journal, *settings, tomorrow);
        if (!lifts) return [refuse, why = lifts.error().text] { refuse(why); };
        if (lifts->empty()) return {};
        return [this, lifts = std::move(*lifts)] { house->take_own_lifts(lifts); };
      },
      refuse);
}

/// For people; what counts are the journal's rows.
void Daemon::Impl::keep_list(const std::string& text) {
  const std::string path = (std::filesystem::path(places.journal).parent_path() / "added.toml").string();
  const auto refuse = [this, path](const std::string& why) {
    trouble(LogLevel::warning, path + ": " + why + "; the journal has all of it");
  };
  start_chore(
      [this, path, text, refuse]() -> Worker::Answer {
        const Result<std::string> kept = keep_added_file(path, text);
        if (!kept) return [refuse, why = kept.error().text] { refuse(why); };
        if (kept->empty()) return {};
        return [this, path, aside = *kept] { tell_changed_by_hand(path, aside); };
      },
      refuse);
}

void Daemon::Impl::tell_changed_by_hand(const std::string& path, const std::string& aside) {
  const std::string text =
      path +
      " was changed by hand; it is a copy that nobody reads, and nothing was taken from it: " + "your version is " +
      aside + " now. What is watched is changed by brimwatch watch add and " + "watch drop, or in a list of your own";
  log.say(LogLevel::warning, text);
  house->tell_self_check(text);
}

}  // namespace brimwatch
