#pragma once
// What an evening's learning yields: curves, error widths and feed ratios, taken in as each symbol's day ends, and
// written to the file of learned curves once the last has come in.
#include <string>

#include "core/state.h"
#include "desk/desk.h"
#include "volume/learning/learned_file.h"

namespace brimwatch {

class EveningLessons {
 public:
  EveningLessons(Desk& desk, std::string file) : desk_(desk), file_(std::move(file)) {}

  /// A symbol's day is over. The plan of that day is made again, for the errors of its forecasts.
  void take(const DayRecord& record);
  /// Whether something has been learned since the last write.
  [[nodiscard]] bool has_news() const { return news_; }
  /// For the file, to be written on a thread that may wait.
  [[nodiscard]] LearnedBySymbol take_all();
  [[nodiscard]] const std::string& file() const { return file_; }

 private:
  Desk& desk_;
  std::string file_;
  bool news_ = false;
};

}  // namespace brimwatch
