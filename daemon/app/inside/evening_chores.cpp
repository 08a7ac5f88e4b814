#include "app/inside/evening_chores.h"

#include <memory>
#include <utility>

#include "app/evening_review.h"
#include "loop/clock.h"

namespace brimwatch {

void EveningChores::make_review(Date day, Timestamp now, std::function<void(NoticeRecord)> answer) {
  const auto settings = std::make_shared<Settings>(house_.desk().settings());
  const auto refuse = [this, day](const std::string& why) {
    trouble_(LogLevel::warning, "review of " + to_string(day) + ": " + why + "; none is sent, `brimwatch review --day " +
                                    to_string(day) + "` makes it");
  };
  chores_.start(
      [journal = journal_, settings, day, now, offset = house_.offset(), answer = std::move(answer),
       refuse]() -> Worker::Answer {
        auto made = make_evening_review(journal, *settings, day, now, offset);
        if (!made) return [refuse, why = made.error().text] { refuse(why); };
        return [answer, record = std::move(made->record)] { answer(record); };
      },
      refuse);
}

void EveningChores::save_lessons(LearnedBySymbol all, std::string file) {
  const auto refuse = [this](const std::string& why) {
    trouble_(LogLevel::warning,
             "learned curves: " + why + "; what this evening taught is kept till the end of the program");
  };
  chores_.start(
      [all = std::move(all), file = std::move(file), refuse]() -> Worker::Answer {
        const auto saved = write_learned(file, all);
        if (saved) return {};
        return [refuse, why = saved.error().text] { refuse(why); };
      },
      refuse);
  renew_lifts();
}

/// What its user's own crossings have taught so far, for the days from tomorrow on; nothing where it is no news.
void EveningChores::renew_lifts() {
  const auto refuse = [this](const std::string& why) {
    trouble_(LogLevel::warning,
             "own crossings: " + why + "; what they taught is not renewed, the next evening tries again");
  };
  const Date tomorrow = house_.desk().main_calendar().local_date(wall_now()) + 1;
  chores_.start(
      [this, journal = journal_, settings = std::make_shared<Settings>(house_.desk().settings()), tomorrow,
       refuse]() -> Worker::Answer {
        auto lifts = renew_own_lifts(journal, *settings, tomorrow);
        if (!lifts) return [refuse, why = lifts.error().text] { refuse(why); };
        if (lifts->empty()) return {};
        return [this, lifts = std::move(*lifts)] { house_.take_own_lifts(lifts); };
      },
      refuse);
}

}  // namespace brimwatch
