#include "desk/ready_desk.h"

#include <exception>
#include <utility>

namespace brimwatch {

ReadyDesk make_ready(Loaded loaded, const ListsOfAnswers& answers) {
  if (!loaded.ok()) {
    const std::string first = to_string(loaded.problems.front());
    return {std::move(loaded.problems), fail(first), 0};
  }
  std::vector<std::string> warnings;
  for (const Problem& warning : loaded.warnings) warnings.push_back(to_string(warning));
  if (answers.lay) answers.lay(loaded.settings);
  return {{}, Desk::prepare(std::move(loaded.settings)), answers.lists, std::move(warnings)};
}

ReadyDesk read_ready(const std::string& main_file, const LoadOptions& options, const ListsOfAnswers& answers) {
  try {
    return make_ready(load_settings(main_file, options), answers);
  } catch (const std::exception& problem) {
    return {
        {}, fail(main_file + ": what it names could not be read (" + problem.what() + "); nothing was put in force"), 0};
  }
}

}  // namespace brimwatch
