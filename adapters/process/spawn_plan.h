#pragma once
// How a program is started, whoever starts it: without a shell, in a process group of its own, with the signals as a
// program expects them, and with none of our descriptors but its three streams (Asio's sockets would be inherited).
#include <spawn.h>

#include <string>
#include <vector>

namespace brimwatch {

class SpawnPlan {
 public:
  SpawnPlan();
  ~SpawnPlan();
  SpawnPlan(const SpawnPlan&) = delete;
  SpawnPlan& operator=(const SpawnPlan&) = delete;

  /// Its stream `stream` (0 to 2) is our descriptor `ours`.
  void give(int stream, int ours);
  /// Its stream is /dev/null, opened with those flags.
  void give_nothing(int stream, int flags);
  /// 0, or an errno. argv[0]: a path, or a name looked up in our PATH. `environment`: NAME=value, and nothing else is
  /// handed down (child_environment.h).
  [[nodiscard]] int spawn(const std::vector<std::string>& argv, const std::vector<std::string>& environment, pid_t& pid);

 private:
  posix_spawn_file_actions_t actions_{};
  posix_spawnattr_t attributes_{};
};

}  // namespace brimwatch
