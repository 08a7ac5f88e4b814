// brimwatch now: the watches of a running daemon.
#include <unistd.h>

#include <chrono>
#include <cstdio>
#include <memory>
#include <string>
#include <thread>
#include <vector>

#include "commands/command.h"
#include "commands/load.h"
#include "commands/now_screen.h"
#include "config/paths.h"
#include "core/text/json.h"
#include "loop/control.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

void print_screen(const std::vector<ScreenLine>& lines, bool colour) {
  for (const ScreenLine& line : lines) {
    const bool styled = colour && line.style != Style::plain;
    if (styled) set_style(stdout, line.style);
    print_out("%s", line.text.c_str());
    if (styled) set_style(stdout, Style::plain);
    print_out("\n");
  }
}

/// `follow`: on a terminal it fills the screen and no more, so that what matters soonest never scrolls away.
int show_once(const std::string& socket, bool json, bool follow) {
  const auto answer = ask_daemon(socket, R"({"ask":"now"})");
  if (!answer) return tell(answer.error(), kUnreachable);
  if (json) {
    write_json(stdout, *answer);
    return kFine;
  }
  const auto snapshot = OrderedJson::parse(*answer, nullptr, false);
  if (snapshot.is_discarded())
    return tell(Error{"the daemon's answer could not be read; is it of the same version?"}, kFailed);
  const std::size_t rows = follow ? screen_rows(stdout) - 1 : 0;  // the cursor stands on the last
  if (follow) clear_screen(stdout);
  print_screen(now_screen(snapshot, rows), colour_wanted(stdout));
  std::fflush(stdout);
  return kFine;
}

}  // namespace

void add_now(CLI::App& root, CommandContext& context) {
  struct Arguments {
    std::string socket;
    bool follow = false;
  };
  auto arguments = std::make_shared<Arguments>();
  CLI::App* command =
      root.add_subcommand("now", "Show the watches of the running daemon: side, price, projected surge, odds");
  add_common(*command, context, false);
  command->add_option("--socket", arguments->socket, "Control socket (default: the place XDG gives)")->type_name("PATH");
  command->add_flag("-f,--follow", arguments->follow, "Refresh it every two seconds");
  command->footer(
      "Sorted by how soon a watch matters: inside the buy range first, the heavy ones on top, then by distance to the "
      "pivot. --follow fills one screen; its last line says how many watches are left out.");
  command->callback([arguments, &context] {
    const std::string socket = arguments->socket.empty() ? places().control_socket() : arguments->socket;
    const bool follow = arguments->follow && !context.json && isatty(STDOUT_FILENO) != 0;
    do {
      context.exit = show_once(socket, context.json, follow);
      if (arguments->follow && context.exit == kFine) std::this_thread::sleep_for(std::chrono::seconds(2));
    } while (arguments->follow && context.exit == kFine);
  });
}

}  // namespace brimwatch
