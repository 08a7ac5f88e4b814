#pragma once
// A child program of ours: started without a shell, in a process group of its own, ended with everything it started.
#include <sys/types.h>

#include <functional>
#include <string>
#include <vector>

#include "core/result.h"

namespace boost::asio {
class io_context;
}

namespace brimwatch {

/// The descriptors are ours to close.
struct Child {
  pid_t pid = -1;
  int out = -1;  ///< its standard output
  int err = -1;  ///< its standard error
};

/// It ends with the thread that calls this, the loop's: also when we are killed. argv[0] is looked up in PATH. Its
/// standard input is empty; it inherits no descriptor but the three, and of our environment what `environment`
/// (NAME=value) says.
[[nodiscard]] Result<Child> spawn_child(const std::vector<std::string>& argv,
                                        const std::vector<std::string>& environment);

/// How a child ended, for a person: "ended with code 3", "was killed by signal 9 (Killed)".
[[nodiscard]] std::string describe_exit(int wait_status);

/// Ends the child's process group (TERM, after two seconds KILL) and takes its exit status, in the background of `io`.
/// When the loop is destroyed first, what is left is killed at once. `told` may be empty.
void end_child(boost::asio::io_context& io, pid_t pid, std::function<void(const std::string& how)> told);

}  // namespace brimwatch
