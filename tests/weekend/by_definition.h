#pragma once
// The definitions of daemon/weekend/base.h, sentence by sentence, tried on every combination of bars. Slow and obvious:
// the quick finder must agree with it.
#include <vector>

#include "core/daily.h"
#include "weekend/base.h"
#include "weekend/rulebook.h"

namespace brimwatch::testing_support {

[[nodiscard]] std::vector<Base> bases_by_definition(const std::vector<DailyBar>& bars, const RuleBook& book);

}  // namespace brimwatch::testing_support
