#pragma once
// One daemon a journal: a lock file beside it. Two would send every notice twice and be cut off by most sources.
#include <string>

#include "core/result.h"

namespace brimwatch {

class InstanceLock {
 public:
  /// Fails when another process holds it, with that process's number.
  static Result<InstanceLock> take(const std::string& path);
  InstanceLock(InstanceLock&& other) noexcept : fd_(other.fd_) { other.fd_ = -1; }
  InstanceLock& operator=(InstanceLock&&) = delete;
  ~InstanceLock();

 private:
  explicit InstanceLock(int fd) : fd_(fd) {}
  int fd_;
};

}  // namespace brimwatch
