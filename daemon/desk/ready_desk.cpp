#include "desk/ready_desk.h"

#include <exception>
#include <utility>

namespace brimwatch {

ReadyDesk make_ready(Loaded loaded) {
  if (!loaded.ok()) {
    const std::string first = to_string(loaded.problems.front());
    return {std::move(loaded.problems), fail(first)};
  }
  return {{}, Desk::prepare(std::move(loaded.settings))};
}

ReadyDesk read_ready(const std::string& main_file, const LoadOptions& options) {
  try {
    return make_ready(load_settings(main_file, options));
  } catch (const std::exception& problem) {
    return {{}, fail(main_file + ": what it names could not be read (" + problem.what() + "); nothing was put in force")};
  }
}

}  // namespace brimwatch
