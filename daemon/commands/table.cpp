// The commands of the program. A new one: write commands/NAME.cpp with add_NAME, declare and list it here.
#include "commands/command.h"

namespace brimwatch {

// clang-format off
void add_channels(CLI::App& root, CommandContext& context);
void add_check(CLI::App& root, CommandContext& context);
void add_init(CLI::App& root, CommandContext& context);
void add_journal(CLI::App& root, CommandContext& context);
void add_learn(CLI::App& root, CommandContext& context);
void add_now(CLI::App& root, CommandContext& context);
void add_pace(CLI::App& root, CommandContext& context);
void add_prepare(CLI::App& root, CommandContext& context);
void add_replay(CLI::App& root, CommandContext& context);
void add_review(CLI::App& root, CommandContext& context);
void add_run(CLI::App& root, CommandContext& context);
void add_serve(CLI::App& root, CommandContext& context);

namespace {
constexpr AddCommand kCommands[] = {
    add_init,
    add_check,
    add_run,
    add_replay,
    add_serve,
    add_now,
    add_journal,
    add_channels,
    add_pace,
    add_learn,
    add_prepare,
    add_review,
};
}  // namespace
// clang-format on

void add_common(CLI::App& command, CommandContext& context, bool with_config) {
  if (with_config)
    command.add_option("-c,--config", context.config, "Configuration file (default: the place XDG gives)")
        ->type_name("FILE");
  command.add_flag("--json", context.json, "Print JSON, one object a line");
}

void add_all_commands(CLI::App& root, CommandContext& context) {
  for (const AddCommand add : kCommands) {
    add(root, context);
  }
}

}  // namespace brimwatch
