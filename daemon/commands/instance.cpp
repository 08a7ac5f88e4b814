#include "commands/instance.h"

#include <unistd.h>

#include <initializer_list>

#include "config/paths.h"
#include "files/own_files.h"
#include "loop/control.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

bool is_given(const CLI::App& command, std::initializer_list<const char*> options) {
  for (const char* name : options) {
    const CLI::Option* option = command.get_option_no_throw(name);
    if (option != nullptr && option->count() > 0) return true;
  }
  return false;
}

/// The service's folders in /run and /var/lib are links that lead where root alone may look: the links are seen by all.
InstancesThere look_around() {
  const Places system = system_places();
  return {.own_runs = daemon_listens(places().control_socket()),
          .system_runs = inode_at(system.runtime) != 0,
          .own_settings = inode_at(config_file({})) != 0,
          .system_settings = inode_at(system.config_file()) != 0};
}

void say_system(About about) {
  const Places system = system_places();
  const bool may_look = ::geteuid() == 0 || about == About::settings;
  print_error("brimwatch: of the system service (%s, %s)%s\n", system.config.c_str(), system.state.c_str(),
              may_look ? "" : "; it answers to root alone: put sudo before the command");
}

}  // namespace

Instance instance_for(About about, const InstancesThere& there) {
  if (about == About::itself) return Instance::own;
  const bool own = about == About::running ? there.own_runs : there.own_settings;
  if (own) return Instance::own;
  if (there.system_runs) return Instance::system;
  return !there.own_settings && there.system_settings ? Instance::system : Instance::own;
}

void find_instance(const CLI::App& command, const CommandContext& context, About about) {
  const bool is_named = is_given(command, {"--config", "--journal", "--socket"});
  if (is_named && !context.system) return;
  const InstancesThere there = look_around();
  be_about(context.system ? Instance::system : instance_for(about, there));
  if (is_given(command, {"--names"})) return;  // for completion: the words would stand in somebody's line
  if (about_which() == Instance::system) say_system(about);
  else if (about == About::running && there.own_runs && there.system_runs)
    print_error("brimwatch: of your own daemon; the system service runs too, and answers to --system\n");
}

}  // namespace brimwatch
