// Arguments -> one command.
#include <algorithm>
#include <exception>
#include <sstream>

#include "commands/command.h"
#include "commands/help_text.h"
#include "loop/process_start.h"
#include "terminal/terminal.h"

namespace {

bool knows(const CLI::App& root, const std::string& command) {
  const auto all = root.get_subcommands([](const CLI::App*) { return true; });
  return std::any_of(all.begin(), all.end(), [&](const CLI::App* one) { return one->get_name() == command; });
}

}  // namespace

int main(int argc, char** argv) {
  using namespace brimwatch;
  if (!prepare_process()) return kFailed;
  CLI::App root;
  CommandContext context;
  describe_program(root);
  add_all_commands(root, context);
  if (argc > 1 && argv[1][0] != '-' && !knows(root, argv[1])) {
    print_error("brimwatch: there is no command \"%s\"; brimwatch --help lists them\n", argv[1]);
    return kUsage;
  }
  try {
    root.parse(argc, argv);
  } catch (const CLI::ParseError& problem) {
    std::ostringstream out, error;
    const int code = root.exit(problem, out, error);
    write_text(stdout, problem.get_name() == "CallForVersion" ? out.str() : fitted_help(out.str()));
    write_text(stderr, error.str());
    return code == 0 ? kFine : kUsage;
  } catch (const std::exception& problem) {
    print_error("brimwatch: %s\n", problem.what());
    return kFailed;
  }
  return context.exit;
}
