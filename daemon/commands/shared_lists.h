#pragma once
// What differs between the watch lists and the rules of a house's machines, asked of their etcd.
#include <string>
#include <vector>

#include "config/settings.h"

namespace brimwatch {

/// One line a machine whose list is another, and one a rule that differs; or one that says why nothing is known; none:
/// all alike. Waits two seconds at the most.
[[nodiscard]] std::vector<std::string> differences_of_lists(const Settings& settings);

}  // namespace brimwatch
