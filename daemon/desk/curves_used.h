#pragma once
// Which learned curves a desk judges by, for a person: the odds depend on them.
#include <string>

#include "desk/desk.h"
#include "volume/learned_file.h"

namespace brimwatch {

/// "learned curves of 3 symbols from FILE"; empty where there are none and the usual curve stands for all.
[[nodiscard]] std::string curves_used(const LearnedBySymbol& curves, const std::string& file);
[[nodiscard]] std::string curves_used(const Desk& desk);

}  // namespace brimwatch
