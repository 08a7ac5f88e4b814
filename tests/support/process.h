#pragma once
// Runs a helper program of the tests and keeps what it prints. For references written in other languages.
#include <sys/wait.h>

#include <array>
#include <cstdio>
#include <string>

namespace brimwatch::test {

struct Run {
  int code = -1;
  std::string out;
};

/// Through the shell, so quote what needs it; standard error is the test's own.
inline Run run(const std::string& command) {
  Run result;
  std::FILE* pipe = popen(command.c_str(), "r");
  if (pipe == nullptr) return result;
  std::array<char, 65536> buffer;
  for (std::size_t got; (got = fread(buffer.data(), 1, buffer.size(), pipe)) > 0;) result.out.append(buffer.data(), got);
  const int status = pclose(pipe);
  result.code = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  return result;
}

}  // namespace brimwatch::test
