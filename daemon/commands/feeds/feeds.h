#pragma once
// What the subcommands of `brimwatch feeds` are made of.
#include <CLI/CLI.hpp>

#include "commands/command.h"

namespace brimwatch {

void add_feeds_map(CLI::App& feeds, CommandContext& context);
void add_feeds_try(CLI::App& feeds, CommandContext& context);

}  // namespace brimwatch
