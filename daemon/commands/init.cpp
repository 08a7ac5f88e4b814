// brimwatch init: the first configuration, and the service that is to read it.
#include "config/init.h"

#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <string>

#include "adapters/process/child_environment.h"
#include "adapters/process/spawn_plan.h"
#include "commands/command.h"
#include "config/paths.h"
#include "core/caution.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

struct InitOptionsGiven {
  std::string directory;
  bool force = false, system = false, no_enable = false;
};

/// Empty, or why systemctl did not do it; what it has to say stands on standard error.
std::string run_systemctl(const std::vector<std::string>& words) {
  std::vector<std::string> argv{"systemctl"};
  argv.insert(argv.end(), words.begin(), words.end());
  SpawnPlan plan;
  plan.give(1, STDERR_FILENO);
  plan.give(2, STDERR_FILENO);
  pid_t pid = -1;
  if (const int error = plan.spawn(argv, child_environment({}), pid); error != 0) return std::strerror(error);
  int status = 0;
  while (::waitpid(pid, &status, 0) < 0 && errno == EINTR) {
  }
  return WIFEXITED(status) && WEXITSTATUS(status) == 0 ? "" : "systemctl failed";
}

/// The packaged unit begins with the machine, or the session, from now on; a running one is left as it is.
void enable(const InitPlan& plan) {
  const std::string verb = plan.shared ? "systemctl" : "systemctl --user";
  const std::string why = plan.shared ? run_systemctl({"enable", "--quiet", "brimwatch.service"})
                                      : run_systemctl({"--user", "enable", "--quiet", "brimwatch.service"});
  if (why.empty())
    print_out("enabled %s: it starts with your next %s\n", plan.packaged_unit.c_str(), plan.shared ? "boot" : "login");
  else print_out("not enabled (%s); by hand: %s enable brimwatch\n", why.c_str(), verb.c_str());
}

/// " --config FILE", as a person can copy it into a shell.
std::string config_option(const InitPlan& plan) {
  constexpr std::string_view kPlain = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789_./+:@%-";
  const std::string file = plan.directory + "/brimwatch.toml";
  if (file.find_first_not_of(kPlain) == std::string::npos) return " --config " + file;
  std::string quoted;
  for (const char c : file) quoted += c == '\'' ? "'\\''" : std::string(1, c);
  return " --config '" + quoted + "'";
}

void say_next_for_system(const InitPlan& plan) {
  const bool in_place = plan.directory == system_places().config;
  const std::string config = in_place ? " --system" : config_option(plan);
  print_out(
      "\nNext:\n"
      "  1. Put your stocks into weekend.toml: the symbols in it are invented.\n"
      "  2. Name your feed in brimwatch.toml, under [[feed]]. Until then the service stays up, blind, and says so.\n"
      "     All may read these files: passwords belong in credentials, see brimwatch(8).\n"
      "  3. brimwatch check%s\n"
      "  4. brimwatch channels try%s\n"
      "  5. systemctl start brimwatch; after a change: systemctl reload brimwatch\n"
      "\n%s\n",
      config.c_str(), config.c_str(), std::string(kCaution).c_str());
}

void say_service(const InitPlan& plan, bool in_place) {
  if (!plan.packaged_unit.empty()) {
    print_out("     or, in the background: systemctl --user start brimwatch\n");
  } else if (in_place) {
    print_out(
        "     or, in the background: systemctl --user daemon-reload\n"
        "                            systemctl --user enable --now brimwatch\n");
  } else {
    print_out("     or, in the background: put brimwatch.service in ~/.config/systemd/user first\n");
  }
  print_out("     It ends when you log out, unless you say: loginctl enable-linger\n");
}

void say_next(const InitPlan& plan, bool in_place) {
  const std::string config = in_place ? "" : config_option(plan);
  print_out(
      "\nNext:\n"
      "  1. Put your stocks into weekend.toml: the symbols in it are invented.\n"
      "  2. Name your feed in brimwatch.toml, under [[feed]].\n"
      "  3. brimwatch check%s\n"
      "  4. brimwatch channels try%s\n"
      "  5. brimwatch run%s\n",
      config.c_str(), config.c_str(), config.c_str());
  say_service(plan, in_place);
  print_out("\n%s\n", std::string(kCaution).c_str());
}

void run_init(const InitOptionsGiven& given, CommandContext& context) {
  const InitPlan plan =
      given.system ? plan_system_init(given.directory, given.force) : plan_init(given.directory, given.force);
  if (const std::string old = unit_in_the_way(plan); !old.empty())
    print_error("brimwatch init: %s, of an earlier init, hides %s: remove it, then systemctl --user daemon-reload\n",
                old.c_str(), plan.packaged_unit.c_str());
  const auto written = write_first_files(plan);
  if (!written) {
    print_error("brimwatch init: %s\n", written.error().text.c_str());
    context.exit = kFailed;
    return;
  }
  for (const std::string& path : *written) print_out("wrote %s\n", path.c_str());
  if (!plan.packaged_unit.empty() && !given.no_enable) enable(plan);
  if (given.system) say_next_for_system(plan);
  else say_next(plan, given.directory.empty());
}

}  // namespace

void add_init(CLI::App& root, CommandContext& context) {
  auto given = std::make_shared<InitOptionsGiven>();
  CLI::App* command =
      root.add_subcommand("init", "Write a first configuration and a sample watch list, and enable the service");
  command->add_option("--dir", given->directory, "Write all files there (default: the places XDG gives)")
      ->type_name("DIR");
  command->add_flag("--force", given->force, "Replace files that are there; the old ones are kept as NAME.old");
  command->add_flag("--system", given->system, "For the system service: into /etc/brimwatch, readable by all");
  command->add_flag("--no-enable", given->no_enable, "Leave the service as it is");
  command->footer(
      "The packaged service is enabled, to start at the next login (or boot); where there is none, as for a program "
      "built by hand, or with --dir, a unit is written. Nothing is overwritten without --force. Then run `brimwatch "
      "check`.");
  command->callback([given, &context] { run_init(*given, context); });
}

}  // namespace brimwatch
