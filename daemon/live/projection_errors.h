#pragma once
// The day's projection errors, once it has ended: projections at fixed minutes against the day's volume.
#include <map>
#include <vector>

#include "core/snapshot.h"
#include "core/state.h"
#include "desk/day_book.h"

namespace brimwatch {

class ProjectionErrors {
 public:
  /// A stock's day that has ended; the book still holds its minutes. Stocks whose feed missed a part of the day do not
  /// count: what came is not known then.
  void take(const DayRecord& day, const DayBook& book);
  /// After 30, 60, 120 and 240 minutes; those without a stock are left out.
  [[nodiscard]] std::vector<ProjectionError> rows() const;

 private:
  struct Sum {
    int stocks = 0;
    double absolute = 0, plain = 0;
  };
  Date day_;
  std::map<int, Sum> sums_;
};

}  // namespace brimwatch
