#pragma once
// Which learned curves a desk judges by, and what its user's own crossings taught, for a person: the odds depend on them.
#include <string>

#include "desk/desk.h"
#include "volume/learning/learned_file.h"
#include "volume/learning/own_lift.h"

namespace brimwatch {

/// "learned curves of 3 symbols from FILE", then what lift_in_words() says; empty where there is nothing of either and
/// the usual curve stands for all.
[[nodiscard]] std::string curves_used(const LearnedBySymbol& curves, const OwnLifts& lifts, const std::string& file);
[[nodiscard]] std::string curves_used(const Desk& desk);

}  // namespace brimwatch
