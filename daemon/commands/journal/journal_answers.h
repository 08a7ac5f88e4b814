#pragma once
// brimwatch journal answers: what was said back, in order.
#include <functional>
#include <string>

#include "commands/command.h"

namespace brimwatch {

void add_journal_answers(CLI::App& journal, const std::function<std::string()>& path, CommandContext& context);

}  // namespace brimwatch
