#pragma once
// What two sets of rules are compared by. Pure.
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "evening/review.h"

namespace brimwatch {

struct MeasureKind {
  std::string name;
  bool more_is_better = true;
  bool is_share = false;
  bool less_index = false;  ///< an outcome is taken less the index over the same sessions
  int horizon = 1;          ///< sessions that an outcome takes to come
  std::function<std::optional<double>(const Crossing&)> value;
};

/// `has_index`: outcomes of later sessions are taken less the index's.
[[nodiscard]] std::vector<MeasureKind> measure_kinds(bool has_index);

}  // namespace brimwatch
