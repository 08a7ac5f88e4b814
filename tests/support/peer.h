#pragma once
// The other side of a connection as a program of its own (a mail server, a web server, a bus): started by a test, spoken
// with over pipes, gone with the object.
#include <fcntl.h>
#include <poll.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <string>
#include <utility>
#include <vector>

namespace brimwatch::testing_support {

class Peer {
 public:
  explicit Peer(std::vector<std::string> argv) {
    int out[2], in[2];
    if (::pipe2(out, O_CLOEXEC) != 0 || ::pipe2(in, O_CLOEXEC) != 0) std::abort();
    pid_ = ::fork();
    if (pid_ == 0) {
      ::prctl(PR_SET_PDEATHSIG, SIGKILL);
      ::setpgid(0, 0);
      ::dup2(in[0], 0);
      ::dup2(out[1], 1);
      std::vector<char*> words;
      for (std::string& word : argv) words.push_back(word.data());
      words.push_back(nullptr);
      ::execvp(words[0], words.data());
      ::_exit(127);
    }
    ::close(out[1]);
    ::close(in[0]);
    from_ = out[0];
    to_ = in[1];
  }
  ~Peer() {
    stop();
    ::close(from_);
    if (to_ >= 0) ::close(to_);
  }
  Peer(const Peer&) = delete;
  Peer& operator=(const Peer&) = delete;

  /// The next line it says; empty after ten seconds without one or at its end. A deadline, not a wait.
  std::string line() {
    for (;;) {
      if (const std::size_t end = kept_.find('\n'); end != std::string::npos) {
        std::string text = kept_.substr(0, end);
        kept_.erase(0, end + 1);
        return text;
      }
      pollfd readable{from_, POLLIN, 0};
      char buffer[65536];
      if (::poll(&readable, 1, 10'000) <= 0) return {};
      const ssize_t got = ::read(from_, buffer, sizeof buffer);
      if (got <= 0) return std::exchange(kept_, {});
      kept_.append(buffer, static_cast<std::size_t>(got));
    }
  }
  /// The next line if it is there already, for a test whose own loop must turn meanwhile.
  bool take_line(std::string& into) {
    pollfd readable{from_, POLLIN, 0};
    char buffer[65536];
    while (kept_.find('\n') == std::string::npos && ::poll(&readable, 1, 0) > 0) {
      const ssize_t got = ::read(from_, buffer, sizeof buffer);
      if (got <= 0) break;
      kept_.append(buffer, static_cast<std::size_t>(got));
    }
    if (kept_.find('\n') == std::string::npos) return false;
    into = line();
    return true;
  }
  void say(const std::string& text) { [[maybe_unused]] const auto put = ::write(to_, text.data(), text.size()); }
  void end_input() {
    ::close(to_);
    to_ = -1;
  }
  /// Everything until it ends.
  std::string all() {
    std::string text;
    for (std::string next = line(); !next.empty(); next = line()) text += next + "\n";
    return text;
  }
  void signal(int number) const { ::kill(-pid_, number); }
  void stop() {
    if (pid_ <= 0) return;
    ::kill(-pid_, SIGKILL);
    ::waitpid(pid_, nullptr, 0);
    pid_ = -1;
  }

 private:
  pid_t pid_ = -1;
  int from_ = -1, to_ = -1;
  std::string kept_;
};

/// A directory of its own, gone with the object.
class TemporaryDirectory {
 public:
  TemporaryDirectory() {
    std::string path = (std::filesystem::temp_directory_path() / "brimwatch-test-XXXXXX").string();
    if (::mkdtemp(path.data()) == nullptr) std::abort();
    path_ = path;
  }
  ~TemporaryDirectory() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  TemporaryDirectory(const TemporaryDirectory&) = delete;
  TemporaryDirectory& operator=(const TemporaryDirectory&) = delete;
  [[nodiscard]] const std::string& path() const { return path_; }

 private:
  std::string path_;
};

/// A self-signed certificate for `names` ("IP:127.0.0.1,DNS:localhost"), valid a day: DIRECTORY/NAME.pem and .key.
inline bool make_certificate(const std::string& directory, const std::string& name, const std::string& names) {
  Peer openssl({"openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes",
                "-keyout", directory + "/" + name + ".key", "-out", directory + "/" + name + ".pem", "-days", "1",
                "-subj", "/CN=" + name, "-addext", "subjectAltName=" + names});
  openssl.end_input();
  openssl.all();
  return std::filesystem::exists(directory + "/" + name + ".pem");
}

}  // namespace brimwatch::testing_support
