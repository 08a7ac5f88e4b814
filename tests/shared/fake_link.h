#pragma once
// One machine's way to the fake log, in virtual time: slow, cut, losing a request before or after it was decided.
#include <functional>
#include <memory>

#include "shared/fake_log.h"
#include "simulation/virtual_time.h"

namespace brimwatch::test {

class FakeLink final : public SharedLog {
 public:
  enum class Fate : std::uint8_t { arrives, lost_before, lost_after };

  FakeLink(FakeLog& log, simulation::VirtualTime& time) : log_(log), time_(time) {}

  bool cut = false;
  Nanos delay = 1'000'000;  ///< there, and back again
  std::function<Fate(const LogRequest&)> fate;
  std::uint64_t asked = 0;

  void ask(LogRequest request, Then then) override {
    ++asked;
    const Fate fated = cut ? Fate::lost_before : fate ? fate(request) : Fate::arrives;
    const Nanos patience = request.patience;
    if (fated == Fate::lost_before) return time_.after(patience, [then = std::move(then)] { then(no_answer()); });
    time_.after(delay, [this, request = std::move(request), then = std::move(then), fated, patience]() mutable {
      log_.advance(time_.steady());
      LogAnswer answer = log_.decide(request);
      const bool lost = fated == Fate::lost_after || cut;
      time_.after(lost ? patience : delay, [this, then = std::move(then), answer = std::move(answer), lost]() mutable {
        then(lost || cut ? no_answer() : std::move(answer));
      });
    });
  }

 private:
  static LogAnswer no_answer() {
    LogAnswer answer;
    answer.words = "does not answer";
    return answer;
  }

  FakeLog& log_;
  simulation::VirtualTime& time_;
};

}  // namespace brimwatch::test
