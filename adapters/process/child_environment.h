#pragma once
// What a program that we start finds in its environment: what it needs to find its files, its display and its sound, and
// nothing that could hold a secret of ours.
#include <string>
#include <vector>

namespace brimwatch {

/// NAME=value of PATH, HOME, locale, time zone, temporary and XDG folders, display and message bus, and of the variables
/// named in `also`; those of them that are set.
[[nodiscard]] std::vector<std::string> child_environment(const std::vector<std::string>& also);

}  // namespace brimwatch
