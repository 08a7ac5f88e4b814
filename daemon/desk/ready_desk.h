#pragma once
// A configuration on its way into force: read and laid out on any thread, so that the engine's has little left to do.
#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "config/loader.h"
#include "desk/desk.h"

namespace brimwatch {

struct ReadyDesk {
  std::vector<Problem> problems;        ///< of the files; with any of them there are no parts
  Result<DeskParts> parts;              ///< or the first thing that is wrong
  std::uint64_t lists = 0;              ///< for which state of what answers make of the lists it was laid out
  std::vector<std::string> warnings{};  ///< of the files; nothing wrong, but perhaps not what was meant
};

/// What answers make of the lists, laid over settings that were just read. May be empty.
struct ListsOfAnswers {
  std::function<void(Settings&)> lay{};
  std::uint64_t lists = 0;
};

[[nodiscard]] ReadyDesk make_ready(Loaded loaded, const ListsOfAnswers& answers = {});
/// From the main file on. Whatever its files hold, what comes back is a value: also of what the libraries throw.
[[nodiscard]] ReadyDesk read_ready(const std::string& main_file, const LoadOptions& options,
                                   const ListsOfAnswers& answers = {});

}  // namespace brimwatch
