#pragma once
// Which files this process has open as journals. POSIX drops all of a process's locks on a file when any descriptor of it
// is closed, whoever opened it (https://www.sqlite.org/howtocorrupt.html, section 2.2): a look at a file's first bytes
// would take SQLite's locks away, another program would take the log of a living journal for one that nobody needs, and
// what is written from then on would be lost. So the file is looked at only while no journal has it open.
#include <sys/types.h>

#include <mutex>
#include <string>
#include <utility>

namespace brimwatch {

/// While one of these lives, the file has a journal. Any thread.
class OpenFile {
 public:
  OpenFile() = default;
  /// To be held from the look at the file until it counts as open.
  static std::unique_lock<std::mutex> only_one();
  /// Device and inode of the file at `path`; zeros where there is none.
  [[nodiscard]] static std::pair<dev_t, ino_t> identity(const std::string& path);
  /// With only_one(): whether some journal of this process has that file open.
  [[nodiscard]] static bool is_open(const std::string& path);
  /// With only_one().
  explicit OpenFile(const std::string& path);
  ~OpenFile();
  /// The file that was opened still stands at `path`.
  [[nodiscard]] bool is_at(const std::string& path) const;
  OpenFile(OpenFile&& other) noexcept : key_(std::exchange(other.key_, {})) {}
  OpenFile& operator=(OpenFile&& other) noexcept {
    std::swap(key_, other.key_);
    return *this;
  }

 private:
  std::pair<dev_t, ino_t> key_{};  ///< device and inode; zeros: none
};

}  // namespace brimwatch
