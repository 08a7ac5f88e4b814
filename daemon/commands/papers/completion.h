#pragma once
// Completions for the shells: commands, options, words that an option takes, files and folders where it takes those,
// names of channels after `channels try`.
#include <string>

#include "commands/papers/command_paper.h"

namespace brimwatch {

[[nodiscard]] std::string bash_completion(const CommandPaper& program);
[[nodiscard]] std::string zsh_completion(const CommandPaper& program);
[[nodiscard]] std::string fish_completion(const CommandPaper& program);

}  // namespace brimwatch
