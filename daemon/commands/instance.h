#pragma once
// Whose Brimwatch a command is about when nobody names a file: the user's own daemon, or the system service.
#include "commands/command.h"
#include "config/paths.h"

namespace brimwatch {

/// What is there to choose from.
struct InstancesThere {
  bool own_runs = false;         ///< our daemon answers
  bool system_runs = false;      ///< the system service has its folder in /run, which lasts as long as it does
  bool own_settings = false;     ///< we have a configuration
  bool system_settings = false;  ///< there is one in /etc/brimwatch
};

/// Pure. What runs goes before what is only written down, and the user's own before the system's; who asks about
/// settings gets their own wherever they have any.
[[nodiscard]] Instance instance_for(About about, const InstancesThere& there);

/// Chooses for the rest of this process, and says on standard error which it is where a system service is in play.
/// Nothing is looked for where the command line names a configuration, a journal or a socket.
void find_instance(const CLI::App& command, const CommandContext& context, About about);

}  // namespace brimwatch
