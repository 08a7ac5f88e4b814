// brimwatch init: the first configuration.
#include "config/init.h"

#include <cstdio>
#include <filesystem>
#include <string>

#include "commands/command.h"
#include "core/caution.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

struct InitOptionsGiven {
  std::string directory;
  bool force = false, system = false;
};

void say_next_for_system(const InitPlan& plan) {
  print_out(
      "\nNext:\n"
      "  1. Put your stocks into weekend.toml: the symbols in it are invented.\n"
      "  2. Name your feed in brimwatch.toml, under [[feed]], and take its desktop channel out: a system service has\n"
      "     none. All may read these files: passwords belong into credentials, see the unit (systemctl cat brimwatch).\n"
      "  3. brimwatch check --config %s/brimwatch.toml\n"
      "  4. systemctl enable --now brimwatch\n"
      "\n%s\n",
      plan.directory.c_str(), std::string(kCaution).c_str());
}

void say_next(const InitPlan& plan, bool in_place) {
  const std::string config = in_place ? "" : " --config " + plan.directory + "/brimwatch.toml";
  print_out(
      "\nNext:\n"
      "  1. Put your stocks into weekend.toml: the symbols in it are invented.\n"
      "  2. Name your feed in brimwatch.toml, under [[feed]].\n"
      "  3. brimwatch check%s\n"
      "  4. brimwatch channels try%s\n"
      "  5. brimwatch run%s\n",
      config.c_str(), config.c_str(), config.c_str());
  if (in_place) {
    print_out("     or, in the background: systemctl --user daemon-reload && systemctl --user enable --now brimwatch\n");
  } else {
    print_out("     or, in the background: put brimwatch.service into ~/.config/systemd/user first\n");
  }
  print_out("\n%s\n", std::string(kCaution).c_str());
}

void run_init(const InitOptionsGiven& given, CommandContext& context) {
  const InitPlan plan =
      given.system ? plan_system_init(given.directory, given.force) : plan_init(given.directory, given.force);
  const auto written = write_first_files(plan);
  if (!written) {
    print_error("brimwatch init: %s\n", written.error().text.c_str());
    context.exit = kFailed;
    return;
  }
  for (const std::string& path : *written) print_out("wrote %s\n", path.c_str());
  if (given.system) say_next_for_system(plan);
  else say_next(plan, given.directory.empty());
}

}  // namespace

void add_init(CLI::App& root, CommandContext& context) {
  auto given = std::make_shared<InitOptionsGiven>();
  CLI::App* command = root.add_subcommand("init", "Write a first configuration, a sample watch list and a user service");
  command->add_option("--dir", given->directory, "Write all files there (default: the places XDG gives)")
      ->type_name("DIR");
  command->add_flag("--force", given->force, "Replace files that are there; the old ones are kept as NAME.old");
  command->add_flag("--system", given->system,
                    "For the system service: into /etc/brimwatch, readable by all, without a user unit");
  command->footer("Nothing is overwritten without --force. Say `brimwatch check` afterwards.");
  command->callback([given, &context] { run_init(*given, context); });
}

}  // namespace brimwatch
