#pragma once
// Loads the configuration for a command, or prints its errors on standard error.
#include <cstdio>
#include <optional>
#include <string>
#include <vector>

#include "commands/command.h"
#include "config/settings.h"
#include "core/result.h"

namespace brimwatch {

/// Loads the configuration named on the command line (or found where XDG says); prints every problem and returns nothing
/// when it cannot be used. `warnings`: where a copy of what is perhaps not meant goes; may be null.
[[nodiscard]] std::optional<Settings> load_or_tell(const CommandContext& context,
                                                   std::vector<std::string>* warnings = nullptr);

/// Prints the error as "brimwatch: ..." and returns `code`.
int tell(const Error& error, Exit code);

}  // namespace brimwatch
