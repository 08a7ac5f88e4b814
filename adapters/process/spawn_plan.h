#pragma once
// How a program is started, whoever starts it: without a shell, in a process group of its own, with the signals as a
// program expects them, and with none of our descriptors but its three streams (Asio's sockets would be inherited).
#include <sys/types.h>

#include <string>
#include <vector>

namespace brimwatch {

class SpawnPlan {
 public:
  /// Its stream `stream` (0 to 2) is our descriptor `ours`.
  void give(int stream, int ours);
  /// Its stream is /dev/null, opened with those flags.
  void give_nothing(int stream, int flags);
  /// It gets SIGTERM when the thread that starts it ends, however that ends: for a program that runs as long as we do,
  /// started by a thread that does. What it has started itself does not get it.
  void end_with_us() { ends_with_us_ = true; }
  /// 0, or an errno. argv[0]: a path, or a name looked up in our PATH. `environment`: NAME=value, and nothing else is
  /// handed down (child_environment.h).
  [[nodiscard]] int spawn(const std::vector<std::string>& argv, const std::vector<std::string>& environment,
                          pid_t& pid) const;

 private:
  struct Stream {
    int number, ours, flags;  ///< ours: -1 is /dev/null
  };
  [[nodiscard]] int spawn_alone(char* const* words, char* const* values, pid_t& pid) const;
  [[nodiscard]] int spawn_bound(char* const* words, char* const* values, pid_t& pid) const;
  [[noreturn]] void become(char* const* words, char* const* values, pid_t starter, int tell) const;

  std::vector<Stream> streams_;
  bool ends_with_us_ = false;
};

}  // namespace brimwatch
