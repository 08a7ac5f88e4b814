#include "commands/load.h"

#include "config/paths.h"
#include "live/usable.h"
#include "terminal/terminal.h"

namespace brimwatch {

std::optional<Settings> load_or_tell(const CommandContext& context, std::vector<std::string>* warnings) {
  const std::string path = config_file(context.config);
  Loaded loaded = load_usable(path);
  for (const Problem& warning : loaded.warnings) print_error("%s\n", to_string(warning).c_str());
  for (const Problem& problem : loaded.problems) print_error("%s\n", to_string(problem).c_str());
  if (!loaded.ok()) return std::nullopt;
  if (warnings != nullptr) {
    for (const Problem& warning : loaded.warnings) warnings->push_back(to_string(warning));
  }
  return std::move(loaded.settings);
}

int tell(const Error& error, Exit code) {
  print_error("brimwatch: %s\n", error.text.c_str());
  return code;
}

}  // namespace brimwatch
