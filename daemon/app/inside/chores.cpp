#include "app/inside/chores.h"

#include <utility>

namespace brimwatch {

void Chores::start(Worker::Job job, const Refuse& refuse) {
  if (!files_.start(std::move(job), [refuse] { refuse(kLate); }))
    refuse("too much waits for a disk that does not answer");
}

RunAside Chores::aside() {
  return [this](std::function<void()> work, std::function<void()> then) {
    (void)shown_.start([work = std::move(work), then = std::move(then)]() -> Worker::Answer {
      work();
      return then;
    });
  };
}

bool Chores::stop(std::chrono::milliseconds most) {
  shown_.stop(std::chrono::milliseconds{0});
  return files_.stop(most);
}

}  // namespace brimwatch
