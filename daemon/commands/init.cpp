// brimwatch init: the first configuration.
#include "config/init.h"

#include <cstdio>
#include <filesystem>
#include <string>

#include "commands/command.h"
#include "core/caution.h"

namespace brimwatch {
namespace {

struct InitOptionsGiven {
  std::string directory;
  bool force = false;
};

void say_next(const InitPlan& plan, bool in_place) {
  const std::string config = in_place ? "" : " --config " + plan.directory + "/brimwatch.toml";
  std::printf(
      "\nNext:\n"
      "  1. Put your stocks into weekend.toml: the symbols in it are invented.\n"
      "  2. Name your feed in brimwatch.toml, under [[feed]].\n"
      "  3. brimwatch check%s\n"
      "  4. brimwatch channels try%s\n"
      "  5. brimwatch run%s\n",
      config.c_str(), config.c_str(), config.c_str());
  if (in_place) {
    std::puts("     or, in the background: systemctl --user daemon-reload && systemctl --user enable --now brimwatch");
  } else {
    std::puts("     or, in the background: put brimwatch.service into ~/.config/systemd/user first");
  }
  std::printf("\n%s\n", std::string(kCaution).c_str());
}

void run_init(const InitOptionsGiven& given, CommandContext& context) {
  const InitPlan plan = plan_init(given.directory, given.force);
  const auto written = write_first_files(plan);
  if (!written) {
    std::fprintf(stderr, "brimwatch init: %s\n", written.error().text.c_str());
    context.exit = kFailed;
    return;
  }
  for (const std::string& path : *written) std::printf("wrote %s\n", path.c_str());
  say_next(plan, given.directory.empty());
}

}  // namespace

void add_init(CLI::App& root, CommandContext& context) {
  auto given = std::make_shared<InitOptionsGiven>();
  CLI::App* command = root.add_subcommand("init", "Write a first configuration, a sample watch list and a user service");
  command->add_option("--dir", given->directory, "Write all files there (default: the places XDG gives)")
      ->type_name("DIR");
  command->add_flag("--force", given->force, "Replace files that are there; the old ones are kept as NAME.old");
  command->footer("Nothing is overwritten without --force. Say `brimwatch check` afterwards.");
  command->callback([given, &context] { run_init(*given, context); });
}

}  // namespace brimwatch
