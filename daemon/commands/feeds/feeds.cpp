// brimwatch feeds: try a quote feed before it is relied on, and find out how an unknown one is mapped.
#include "commands/feeds/feeds.h"

namespace brimwatch {

void add_feeds(CLI::App& root, CommandContext& context) {
  CLI::App* command = root.add_subcommand("feeds", "Map an unknown quote feed, and try a configured one");
  command->require_subcommand(1);
  add_feeds_map(*command, context);
  add_feeds_try(*command, context);
}

}  // namespace brimwatch
