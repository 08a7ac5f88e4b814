#include "desk/ready_desk.h"

#include <utility>

namespace brimwatch {

ReadyDesk make_ready(Loaded loaded) {
  if (!loaded.ok()) {
    const std::string first = to_string(loaded.problems.front());
    return {std::move(loaded.problems), fail(first)};
  }
  return {{}, Desk::prepare(std::move(loaded.settings))};
}

}  // namespace brimwatch
