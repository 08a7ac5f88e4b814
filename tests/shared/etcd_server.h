#pragma once
// A real etcd of one member, of this test alone: in a folder of its own, on ports that are free, gone at the end.
#include <arpa/inet.h>
#include <signal.h>
#include <spawn.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <filesystem>
#include <string>
#include <vector>

extern char** environ;

namespace brimwatch::test {

inline int free_port() {
  const int socket = ::socket(AF_INET, SOCK_STREAM, 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  socklen_t size = sizeof address;
  const bool bound = ::bind(socket, reinterpret_cast<sockaddr*>(&address), size) == 0 &&
                     ::getsockname(socket, reinterpret_cast<sockaddr*>(&address), &size) == 0;
  ::close(socket);
  return bound ? ntohs(address.sin_port) : 0;
}

class EtcdServer {
 public:
  explicit EtcdServer(const std::vector<std::string>& more = {}) {
    char name[] = "/tmp/brimwatch-etcd-XXXXXX";
    if (::mkdtemp(name) == nullptr) return;
    folder_ = name;
    const std::string client = "http://127.0.0.1:" + std::to_string(free_port());
    const std::string peer = "http://127.0.0.1:" + std::to_string(free_port());
    std::vector<std::string> words{"etcd",
                                   "--data-dir",
                                   folder_ + "/data",
                                   "--listen-client-urls",
                                   client,
                                   "--advertise-client-urls",
                                   client,
                                   "--listen-peer-urls",
                                   peer,
                                   "--initial-advertise-peer-urls",
                                   peer,
                                   "--initial-cluster",
                                   "default=" + peer,
                                   "--heartbeat-interval",
                                   "50",
                                   "--election-timeout",
                                   "500",
                                   "--logger",
                                   "zap",
                                   "--log-outputs",
                                   folder_ + "/log"};
    words.insert(words.end(), more.begin(), more.end());
    std::vector<char*> arguments;
    for (std::string& word : words) arguments.push_back(word.data());
    arguments.push_back(nullptr);
    if (::posix_spawnp(&process_, "etcd", nullptr, nullptr, arguments.data(), environ) == 0) address_ = client;
    else process_ = 0;
  }
  ~EtcdServer() {
    if (process_ > 0) ::kill(process_, SIGKILL), ::waitpid(process_, nullptr, 0);
    std::error_code error;
    if (!folder_.empty()) std::filesystem::remove_all(folder_, error);
  }
  EtcdServer(const EtcdServer&) = delete;
  EtcdServer& operator=(const EtcdServer&) = delete;

  /// Empty where there is no etcd on this machine.
  [[nodiscard]] const std::string& address() const { return address_; }

 private:
  std::string folder_, address_;
  pid_t process_ = 0;
};

}  // namespace brimwatch::test
