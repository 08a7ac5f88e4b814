// Arguments -> one command.
#include <algorithm>
#include <exception>
#include <sstream>
#include <string>
#include <vector>

#include "commands/command.h"
#include "commands/mistyped.h"
#include "loop/process_start.h"
#include "terminal/terminal.h"

int main(int argc, char** argv) {
  using namespace brimwatch;
  if (!prepare_process()) return kFailed;
  CLI::App root;
  CommandContext context;
  describe_program(root);
  add_all_commands(root, context);
  const std::vector<std::string> words(argv + std::min(argc, 1), argv + argc);
  if (const auto wrong = mistyped_command(root, words)) return print_error("%s\n", wrong->c_str()), kUsage;
  try {
    root.parse(argc, argv);
  } catch (const CLI::ExtrasError& problem) {
    const auto wrong = mistyped_word(root, words);
    return print_error("%s\n", wrong ? wrong->c_str() : problem.what()), kUsage;
  } catch (const CLI::ParseError& problem) {
    std::ostringstream out, error;
    const int code = root.exit(problem, out, error);
    write_text(stdout, out.str());
    write_text(stderr, error.str());
    return code == 0 ? kFine : kUsage;
  } catch (const std::exception& problem) {
    print_error("brimwatch: %s\n", problem.what());
    return kFailed;
  }
  return context.exit;
}
