#pragma once
// Completions for the shells: commands, options, words that an option takes, files and folders where it takes those,
// names of channels after `channels try`, tapes and folders of them, and the symbols that are watched.
#include <array>
#include <string>
#include <string_view>

#include "commands/papers/command_paper.h"

namespace brimwatch {

/// How the names of tapes and of recorded frames end.
inline constexpr std::array<std::string_view, 4> kTapeEndings = {"csv", "gz", "zst", "jsonl"};

[[nodiscard]] std::string bash_completion(const CommandPaper& program);
[[nodiscard]] std::string zsh_completion(const CommandPaper& program);
[[nodiscard]] std::string fish_completion(const CommandPaper& program);

}  // namespace brimwatch
