#pragma once
// Scenarios as text that a trader can read: what the tape said, what the program must say, and why. One line an event;
// the notices expected from it stand under it. Anything said that is not expected fails, and so does silence where a
// notice is expected. The format is described in tests/scenario/README.md.
#include <string>
#include <vector>

#include "engine/engine.h"

namespace brimwatch::test {

struct ScenarioLine {
  int number = 0;
  std::vector<std::string> words;
};

struct Scenario {
  std::string name, why;
  std::vector<ScenarioLine> lines;
};

[[nodiscard]] Scenario read_scenario(const std::string& path);

enum class Restarts { as_written, after_every_event };

/// Runs it; returns what went wrong, one line each, empty when all is as written.
[[nodiscard]] std::vector<std::string> run_scenario(const Scenario& scenario, Restarts restarts);

}  // namespace brimwatch::test
