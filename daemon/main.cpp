// Arguments -> one command.
#include <algorithm>
#include <exception>
#include <sstream>
#include <string>
#include <string_view>
#include <vector>

#include "commands/command.h"
#include "commands/mistyped.h"
#include "loop/process_start.h"
#include "terminal/terminal.h"

namespace {

/// Of a line of help: under its description, which stands in a column of its own; else under its first word.
std::size_t hanging(std::string_view line) {
  const std::size_t first = std::min(line.find_first_not_of(' '), line.size());
  const std::size_t gap = line.find("  ", first);
  const std::size_t text = gap == std::string_view::npos ? gap : line.find_first_not_of(' ', gap);
  return text == std::string_view::npos || text > 40 ? first : text;
}

}  // namespace

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
    write_verbatim(stdout, in_columns(out.str(), hanging));
    write_text(stderr, error.str());
    return code != 0 ? kUsage : all_written(stdout) ? kFine : kFailed;
  } catch (const std::exception& problem) {
    print_error("brimwatch: %s\n", problem.what());
    return kFailed;
  }
  // A daemon's standard output is one of its channels, and it tells of that itself.
  if (context.exit != kFine || root.got_subcommand("run") || all_written(stdout)) return context.exit;
  print_error("brimwatch: standard output: not all of it could be written (is the disk full?)\n");
  return kFailed;
}
