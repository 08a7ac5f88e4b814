#pragma once
// The end of the process in time, whatever hangs: threads that were left behind hold locks of libraries, and a disk that
// hangs holds whoever closes a file on it. While one of these lives, the process is gone after `within`, with that
// status.
#include <chrono>
#include <memory>

namespace brimwatch {

class LastResort {
 public:
  LastResort(int status, std::chrono::milliseconds within);
  ~LastResort();  ///< not needed after all
  LastResort(const LastResort&) = delete;
  LastResort& operator=(const LastResort&) = delete;
  [[noreturn]] void now() const;  ///< without destructors and exit handlers

 private:
  struct Shared;
  int status_;
  std::shared_ptr<Shared> shared_;
};

}  // namespace brimwatch
