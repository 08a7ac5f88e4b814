#pragma once
// One daemon a journal: a lock file beside it. Two would send every notice twice and be cut off by most sources.
#include <string>

#include "core/result.h"

namespace brimwatch {

class InstanceLock {
 public:
  struct Refusal {
    std::string text;
    bool held = false;  ///< by another process, whose number the text gives; else the file cannot be made
  };
  static tl::expected<InstanceLock, Refusal> take(const std::string& path);
  InstanceLock(InstanceLock&& other) noexcept : fd_(other.fd_) { other.fd_ = -1; }
  InstanceLock& operator=(InstanceLock&&) = delete;
  ~InstanceLock();

 private:
  explicit InstanceLock(int fd) : fd_(fd) {}
  int fd_;
};

}  // namespace brimwatch
