#pragma once
// A command or an option that does not exist: what it may have meant.
#include <CLI/CLI.hpp>
#include <optional>
#include <string>
#include <vector>

namespace brimwatch {

/// One line for a person when a word stands where a command must and none has that name: "brimwatch: there is no command
/// "chek"; did you mean "check"?"; empty when all is well so far.
[[nodiscard]] std::optional<std::string> mistyped_command(const CLI::App& root, const std::vector<std::string>& words);

/// The same for the first word that begins with -- and is no option of the command before it, or that is near to a
/// command which may stand there.
[[nodiscard]] std::optional<std::string> mistyped_word(const CLI::App& root, const std::vector<std::string>& words);

}  // namespace brimwatch
