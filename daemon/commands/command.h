#pragma once
// How a command joins the program: it adds its subcommand with options and help to the root, and leaves its exit
// code. One file a command; the table is in commands/table.cpp.
#include <CLI/CLI.hpp>
#include <optional>
#include <string>

namespace brimwatch {

/// Exit codes, the same for every command.
enum Exit : int {
  kFine = 0,
  kFailed = 1,       ///< the work failed
  kUsage = 2,        ///< the command line was wrong
  kBadConfig = 3,    ///< bad configuration or watch list
  kBadInput = 4,     ///< bad input file
  kUnreachable = 5,  ///< the daemon cannot be reached
  kTaken = 6,        ///< another daemon holds the journal
};

struct CommandContext {
  std::string config;   ///< --config, empty: the place XDG gives
  bool json = false;    ///< --json
  bool system = false;  ///< --system: about the system service
  int exit = kFine;     ///< left by the command that ran
};

/// What a command is about, and so where it looks when nothing is named: `itself` looks for nobody; `settings` of the
/// system service where the user has none; `running`: the daemon that runs, and what it keeps, the user's own first.
enum class About { itself, settings, running };

/// --json, --system (but for `itself`), and --config, alike for every command that takes them.
void add_common(CLI::App& command, CommandContext& context, bool with_config = true);
void add_common(CLI::App& command, CommandContext& context, bool with_config, About about);

/// Says `text` on the error stream as `command` and leaves `code`; nothing, for what should have come of the work.
std::nullopt_t complain(CommandContext& context, const char* command, const std::string& text, int code);

using AddCommand = void (*)(CLI::App& root, CommandContext& context);

/// Name, description, --version and footer of the program itself.
void describe_program(CLI::App& root);

/// Every command of the program, in the order of the help.
void add_all_commands(CLI::App& root, CommandContext& context);

}  // namespace brimwatch
