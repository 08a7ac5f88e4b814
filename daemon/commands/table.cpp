// The commands of the program. A new one: write commands/NAME.cpp with add_NAME, declare and list it here.
#include "commands/command.h"
#include "commands/instance.h"
#include "commands/version.h"
#include "terminal/terminal.h"

namespace brimwatch {

// clang-format off
void add_acknowledge(CLI::App& root, CommandContext& context);
void add_bought(CLI::App& root, CommandContext& context);
void add_channels(CLI::App& root, CommandContext& context);
void add_check(CLI::App& root, CommandContext& context);
void add_holding(CLI::App& root, CommandContext& context);
void add_feeds(CLI::App& root, CommandContext& context);
void add_history(CLI::App& root, CommandContext& context);
void add_init(CLI::App& root, CommandContext& context);
void add_journal(CLI::App& root, CommandContext& context);
void add_learn(CLI::App& root, CommandContext& context);
void add_now(CLI::App& root, CommandContext& context);
void add_page(CLI::App& root, CommandContext& context);
void add_pace(CLI::App& root, CommandContext& context);
void add_prepare(CLI::App& root, CommandContext& context);
void add_rehearse(CLI::App& root, CommandContext& context);
void add_reload(CLI::App& root, CommandContext& context);
void add_replay(CLI::App& root, CommandContext& context);
void add_review(CLI::App& root, CommandContext& context);
void add_run(CLI::App& root, CommandContext& context);
void add_serve(CLI::App& root, CommandContext& context);
void add_sold(CLI::App& root, CommandContext& context);
void add_watch(CLI::App& root, CommandContext& context);
void add_shared(CLI::App& root, CommandContext& context);

namespace {
constexpr AddCommand kCommands[] = {
    add_init,
    add_check,
    add_feeds,
    add_run,
    add_reload,
    add_rehearse,
    add_replay,
    add_serve,
    add_now,
    add_watch,
    add_bought,
    add_sold,
    add_holding,
    add_acknowledge,
    add_journal,
    add_channels,
    add_page,
    add_pace,
    add_learn,
    add_prepare,
    add_history,
    add_review,
    add_shared,
};
}  // namespace
// clang-format on

std::nullopt_t complain(CommandContext& context, const char* command, const std::string& text, int code) {
  print_error("brimwatch %s: %s\n", command, text.c_str());
  context.exit = code;
  return std::nullopt;
}

void add_common(CLI::App& command, CommandContext& context, bool with_config) {
  add_common(command, context, with_config, with_config ? About::settings : About::running);
}

void add_common(CLI::App& command, CommandContext& context, bool with_config, About about) {
  if (with_config)
    command.add_option("-c,--config", context.config, "Configuration file (default: the place XDG gives)")
        ->type_name("FILE");
  command.add_flag("--json", context.json, "Print JSON, one object a line");
  if (about == About::itself) return;
  command.add_flag("--system", context.system,
                   "About the system service, not your own daemon (the default where it runs)");
  command.parse_complete_callback([&command, &context, about] { find_instance(command, context, about); });
}

void describe_program(CLI::App& root) {
  root.name("brimwatch");
  root.description(
      "Watches a quote feed and notifies you once, at the right moment, when a price crosses a prepared pivot or leaves "
      "the buy range, with the odds on the day's volume. Information, not advice.");
  root.set_version_flag("--version", version_text, "Print version, build and libraries, and exit");
  root.require_subcommand(1);
  root.footer(
      "Exit codes: 0 fine, 1 the work failed, 2 usage, 3 bad configuration or watch list, 4 bad input file, "
      "5 the daemon cannot be reached, 6 another daemon holds the journal.");
}

void add_all_commands(CLI::App& root, CommandContext& context) {
  for (const AddCommand add : kCommands) {
    add(root, context);
  }
}

}  // namespace brimwatch
