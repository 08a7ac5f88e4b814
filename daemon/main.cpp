// Arguments -> one command.
#include <algorithm>
#include <cstdio>
#include <exception>

#include "commands/command.h"

namespace {

bool knows(const CLI::App& root, const std::string& command) {
  const auto all = root.get_subcommands([](const CLI::App*) { return true; });
  return std::any_of(all.begin(), all.end(), [&](const CLI::App* one) { return one->get_name() == command; });
}

}  // namespace

int main(int argc, char** argv) {
  using namespace brimwatch;
  CLI::App root{
      "Watches prepared pivots on a quote feed and tells once, at the right moment, when a price crosses one or leaves "
      "the "
      "buy range, with odds of the day's volume. Information, not advice.",
      "brimwatch"};
  root.set_version_flag("--version", "brimwatch " BRIMWATCH_VERSION);
  root.require_subcommand(1);
  root.footer(
      "Exit codes: 0 fine, 1 the work failed, 2 usage, 3 bad configuration or watch list, 4 bad input file, "
      "5 the daemon cannot be reached.");
  CommandContext context;
  add_all_commands(root, context);
  if (argc > 1 && argv[1][0] != '-' && !knows(root, argv[1])) {
    std::fprintf(stderr, "brimwatch: there is no command \"%s\"; brimwatch --help lists them\n", argv[1]);
    return kUsage;
  }
  try {
    root.parse(argc, argv);
  } catch (const CLI::ParseError& problem) {
    return root.exit(problem) == 0 ? kFine : kUsage;
  } catch (const std::exception& problem) {
    std::fprintf(stderr, "brimwatch: %s\n", problem.what());
    return kFailed;
  }
  return context.exit;
}
