#pragma once
// One daemon per journal: a lock file beside it. Two would send every notice twice and be cut off by most sources.
#include <string>

#include "core/result.h"
#include "files/descriptor.h"

namespace brimwatch {

class InstanceLock {
 public:
  struct Refusal {
    std::string text;
    bool held = false;  ///< by another process, whose number the text gives; else the file cannot be made
  };
  static tl::expected<InstanceLock, Refusal> take(const std::string& path);

 private:
  explicit InstanceLock(Descriptor file) : file_(std::move(file)) {}
  Descriptor file_;  ///< closed, and not removed: removing it would let two processes lock two files of one name
};

}  // namespace brimwatch
