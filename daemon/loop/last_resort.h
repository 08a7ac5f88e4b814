#pragma once
// Ends the process in time, whatever hangs: abandoned threads hold libraries' locks, and a hung disk blocks closing a
// file on it. While a LastResort lives, the process exits after `within`, with that status.
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
