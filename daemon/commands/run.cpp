// brimwatch run: the daemon, in the foreground.
#include <algorithm>
#include <memory>

#include "adapters/feeds/merge.h"
#include "app/daemon.h"
#include "commands/command.h"
#include "commands/load.h"
#include "config/paths.h"
#include "files/own_files.h"
#include "loop/service.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

bool reads_standard_input(const Settings& settings) {
  return std::any_of(settings.feeds.begin(), settings.feeds.end(),
                     [](const FeedSettings& feed) { return feed.enabled && is_standard_input(feed); });
}

int run_daemon(const CommandContext& context, const std::string& journal, const std::string& socket) {
  DaemonPlaces daemon;
  auto settings = load_or_tell(context, &daemon.warnings);
  if (!settings) return kBadConfig;
  const Places where = places();
  daemon.config = config_file(context.config);
  daemon.journal = !journal.empty() ? journal : !settings->journal.empty() ? settings->journal : where.journal();
  daemon.socket = !socket.empty() ? socket : where.control_socket();
  daemon.journal = without_links(daemon.journal);  // one journal, one lock, whatever it is called
  settings->history.heard = heard_beside(daemon.journal);
  daemon.lock = daemon.journal + ".lock";
  daemon.json_log = context.json;
  // What stands in the way of a folder stands in the way of what is to be in it, and is told there.
  for (const std::string& path : {daemon.journal, daemon.socket}) {
    const auto name = path.rfind('/');
    if (name != std::string::npos && name > 0) (void)make_private_directory(path.substr(0, name));
  }
  if (settings->feeds.empty())
    return tell(Error{daemon.config + ": there is no [feed]; brimwatch run needs one to watch"}, kBadConfig);
  // A service stays up and says in its status, its log and through its channels that it is blind, until a reload.
  if (reads_standard_input(*settings) && !has_standard_input() && !is_a_service())
    return tell(
        Error{daemon.config + ": a [[feed]] of kind \"pipe\" without a command reads standard input, and there is "
                              "none here; name a command, or another kind of feed"},
        kBadConfig);
  if (ends_at_logout())
    print_error("brimwatch: this service ends when you log out; `loginctl enable-linger` keeps it running\n");
  return Daemon(std::move(*settings), daemon).run();
}

}  // namespace

void add_run(CLI::App& root, CommandContext& context) {
  struct Arguments {
    std::string journal, socket;
  };
  auto arguments = std::make_shared<Arguments>();
  CLI::App* command =
      root.add_subcommand("run", "The daemon: watch the feed and tell (foreground; SIGHUP reloads, SIGTERM ends)");
  add_common(*command, context, true, About::itself);
  command->get_option("--json")->description("Write the log as JSON, one object a line, as [log] format = \"json\" does");
  command
      ->add_option("--journal", arguments->journal, "Journal (default: from the configuration, or the place XDG gives)")
      ->type_name("FILE");
  command->add_option("--socket", arguments->socket, "Control socket (default: the place XDG gives)")->type_name("PATH");
  command->footer(
      "To keep it running: systemctl --user enable --now brimwatch. What it sees: brimwatch now. What it said: brimwatch "
      "journal.\n"
      "Information, not advice. Data may be late or wrong; check the price with your broker before you act.");
  command->callback([arguments, &context] { context.exit = run_daemon(context, arguments->journal, arguments->socket); });
}

}  // namespace brimwatch
