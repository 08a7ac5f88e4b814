// brimwatch reload: the running daemon reads its configuration anew, and says whether it took it.
#include <memory>
#include <string>

#include "commands/command.h"
#include "commands/load.h"
#include "config/paths.h"
#include "core/text/json.h"
#include "live/usable.h"
#include "loop/control.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

constexpr auto kPatience = std::chrono::seconds(60);  // as long as the daemon owes an answer

/// As `check` has it: every mistake is told here, at once, and the daemon is not asked.
bool is_sound(const CommandContext& context) {
  const Loaded loaded = load_settings(config_file(context.config), usable({.files = true}));
  for (const Problem& warning : loaded.warnings) print_error("%s (warning)\n", to_string(warning).c_str());
  for (const Problem& problem : loaded.problems) print_error("%s\n", to_string(problem).c_str());
  if (!loaded.ok()) print_error("brimwatch: nothing was reloaded; the old settings stay in force\n");
  return loaded.ok();
}

int reload(const CommandContext& context, const std::string& socket) {
  if (!is_sound(context)) return kBadConfig;
  const auto answer = ask_daemon(socket, R"({"ask":"reload"})", kPatience);
  if (!answer) return tell(answer.error(), kUnreachable);
  const auto said = OrderedJson::parse(*answer, nullptr, false);
  if (!said.is_object())
    return tell(Error{"the daemon ended, or was busy for a minute; `brimwatch now` says what is in force"}, kFailed);
  if (context.json) write_json(stdout, *answer);
  if (said.contains("error")) return tell(Error{said.value("error", "")}, kBadConfig);
  if (!context.json) write_text(stdout, said.value("words", "reloaded") + "\n");
  return kFine;
}

}  // namespace

void add_reload(CLI::App& root, CommandContext& context) {
  auto socket = std::make_shared<std::string>();
  CLI::App* command = root.add_subcommand("reload", "Make the running daemon reread configuration and watch lists");
  add_common(*command, context, true, About::running);
  command->add_option("--socket", *socket, "Control socket (default: the place XDG gives)")->type_name("PATH");
  command->footer(
      "Everything is checked first, as by `brimwatch check`; then the daemon reloads and its answer is printed. After an "
      "error the old settings stay in force and the exit code is 3. --config is only the file to check: the daemon "
      "rereads the one it was started with.");
  command->callback(
      [socket, &context] { context.exit = reload(context, socket->empty() ? places().control_socket() : *socket); });
}

}  // namespace brimwatch
