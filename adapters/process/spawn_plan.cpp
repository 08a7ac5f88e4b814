#include "adapters/process/spawn_plan.h"

#include <unistd.h>

#include <csignal>

namespace brimwatch {
namespace {

/// posix_spawn does not write to them.
std::vector<char*> pointers(const std::vector<std::string>& words) {
  std::vector<char*> out;
  for (const std::string& word : words) out.push_back(const_cast<char*>(word.c_str()));
  out.push_back(nullptr);
  return out;
}

}  // namespace

SpawnPlan::SpawnPlan() {
  posix_spawn_file_actions_init(&actions_);
  posix_spawnattr_init(&attributes_);
  sigset_t all, none;
  sigfillset(&all);
  sigemptyset(&none);
  posix_spawnattr_setsigdefault(&attributes_, &all);
  posix_spawnattr_setsigmask(&attributes_, &none);
  posix_spawnattr_setpgroup(&attributes_, 0);
  posix_spawnattr_setflags(&attributes_, POSIX_SPAWN_SETPGROUP | POSIX_SPAWN_SETSIGDEF | POSIX_SPAWN_SETSIGMASK);
}

SpawnPlan::~SpawnPlan() {
  posix_spawn_file_actions_destroy(&actions_);
  posix_spawnattr_destroy(&attributes_);
}

void SpawnPlan::give(int stream, int ours) { posix_spawn_file_actions_adddup2(&actions_, ours, stream); }

void SpawnPlan::give_nothing(int stream, int flags) {
  posix_spawn_file_actions_addopen(&actions_, stream, "/dev/null", flags, 0);
}

int SpawnPlan::spawn(const std::vector<std::string>& argv, const std::vector<std::string>& environment, pid_t& pid) {
  posix_spawn_file_actions_addclosefrom_np(&actions_, STDERR_FILENO + 1);
  const auto words = pointers(argv);
  const auto values = pointers(environment);
  return ::posix_spawnp(&pid, words[0], &actions_, &attributes_, words.data(), values.data());
}

}  // namespace brimwatch
