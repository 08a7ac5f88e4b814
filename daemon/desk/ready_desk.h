#pragma once
// A configuration on its way into force: read and laid out on any thread, so that the engine's has little left to do.
#include <vector>

#include "config/loader.h"
#include "desk/desk.h"

namespace brimwatch {

struct ReadyDesk {
  std::vector<Problem> problems;  ///< of the files; with any of them there are no parts
  Result<DeskParts> parts;        ///< or the first thing that is wrong
};

[[nodiscard]] ReadyDesk make_ready(Loaded loaded);

}  // namespace brimwatch
