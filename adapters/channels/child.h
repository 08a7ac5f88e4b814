#pragma once
// Runs a program once, without a shell: input given whole, output thrown away, the first line of its errors kept.
#include <chrono>
#include <string>
#include <vector>

#include "core/result.h"

namespace brimwatch {

struct ChildJob {
  std::vector<std::string> argv;         ///< argv[0]: a path, or a name looked up in our PATH
  std::vector<std::string> environment;  ///< NAME=value; nothing else is handed down
  std::string input;  ///< what its standard input holds (a file in memory: never blocks, can be read again)
  std::chrono::milliseconds timeout{30000};
};

struct ChildEnd {
  bool timed_out = false;  ///< its process group was killed
  int exit_code = -1;      ///< -1: ended by `signal`, or not known
  int signal = 0;
  std::string error_line;  ///< first line of its standard error, cut at 300 characters
};

/// Blocks until it ended or was killed. An error when it cannot be started at all. Descriptors above 2 are not inherited,
/// signals are as by default; its own children that outlive it are left alone unless it timed out.
[[nodiscard]] Result<ChildEnd> run_child(const ChildJob& job);

}  // namespace brimwatch
