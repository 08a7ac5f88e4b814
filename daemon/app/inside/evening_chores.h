#pragma once
// What an evening leaves to be done off the loop: the day's review, the curves it taught, and once a month what its
// user's own crossings taught.
#include <functional>
#include <string>

#include "app/inside/chores.h"
#include "core/log_sink.h"
#include "live/house.h"

namespace brimwatch {

class EveningChores {
 public:
  EveningChores(House& house, Chores& chores, std::string journal, LogSink trouble)
      : house_(house), chores_(chores), journal_(std::move(journal)), trouble_(std::move(trouble)) {}

  /// One that cannot be made is said in the log, and has no answer.
  void make_review(Date day, Timestamp now, std::function<void(NoticeRecord)> answer);
  void save_lessons(LearnedBySymbol all, std::string file);

 private:
  void renew_lifts();

  House& house_;
  Chores& chores_;
  std::string journal_;
  LogSink trouble_;
};

}  // namespace brimwatch
