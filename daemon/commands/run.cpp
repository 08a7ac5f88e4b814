// brimwatch run: the daemon, in the foreground.
#include <unistd.h>

#include <algorithm>
#include <memory>
#include <optional>

#include "adapters/feeds/merge.h"
#include "app/daemon.h"
#include "commands/command.h"
#include "commands/load.h"
#include "config/paths.h"
#include "files/own_files.h"
#include "live/usable.h"
#include "loop/journald.h"
#include "loop/log.h"
#include "loop/service.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

bool reads_standard_input(const Settings& settings) {
  return std::any_of(settings.feeds.begin(), settings.feeds.end(),
                     [](const FeedSettings& feed) { return feed.enabled && is_standard_input(feed); });
}

/// What is said before the daemon has its log: like a command on a person's terminal; but where the log is JSON, or
/// journald's, as lines of the log.
class FirstWords {
 public:
  FirstWords(bool json, const std::string& level) {
    if (json || is_journald(STDERR_FILENO)) log_.emplace(level, json ? "json" : "text");
  }
  void say(LogLevel level, const std::string& text) {
    if (log_) log_->say(level, text);
    else print_error("%s\n", text.c_str());
  }
  [[nodiscard]] int refuse(const std::string& text) {
    if (log_) log_->say(LogLevel::error, text);
    else (void)tell(Error{text}, kBadConfig);
    return kBadConfig;
  }
  void end() { log_.reset(); }

 private:
  std::optional<Log> log_;
};

int run_daemon(const CommandContext& context, const std::string& journal, const std::string& socket) {
  DaemonPlaces daemon;
  Loaded loaded = load_usable(config_file(context.config));
  FirstWords words(context.json || loaded.settings.log_format == "json", loaded.settings.log_level);
  for (const Problem& warning : loaded.warnings) {
    daemon.warnings.push_back(to_string(warning));
    words.say(LogLevel::warning, daemon.warnings.back());
  }
  for (const Problem& problem : loaded.problems) words.say(LogLevel::error, to_string(problem));
  if (!loaded.ok()) return kBadConfig;
  Settings* const settings = &loaded.settings;
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
    return words.refuse(daemon.config + ": there is no [feed]; brimwatch run needs one to watch");
  // A service stays up and says in its status, its log and through its channels that it is blind, until a reload.
  if (reads_standard_input(*settings) && !has_standard_input() && !is_a_service())
    return words.refuse(daemon.config +
                        ": a [[feed]] of kind \"pipe\" without a command reads standard input, and there is none here; "
                        "name a command, or another kind of feed");
  if (ends_at_logout())
    words.say(LogLevel::warning, "this service ends when you log out; `loginctl enable-linger` keeps it running");
  words.end();
  return Daemon(std::move(*settings), daemon).run();
}

}  // namespace

void add_run(CLI::App& root, CommandContext& context) {
  struct Arguments {
    std::string journal, socket;
  };
  auto arguments = std::make_shared<Arguments>();
  CLI::App* command = root.add_subcommand(
      "run", "The daemon: watch the feed and send notices (foreground; SIGHUP reloads, SIGTERM ends)");
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
