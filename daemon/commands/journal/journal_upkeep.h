#pragma once
// What is done with a journal as a whole: backup, restore, prune.
#include <functional>
#include <string>

#include "commands/command.h"

namespace brimwatch {

/// Adds them below `brimwatch journal`; `path` tells which journal, once the arguments are read.
void add_journal_upkeep(CLI::App& journal, std::function<std::string()> path, CommandContext& context);

}  // namespace brimwatch
