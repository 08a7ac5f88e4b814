#pragma once
// How large the journal is: its file and the log beside it, measured each minute. Aside, since the disk may hang; the
// file is asked for, never opened.
#include <cstdint>
#include <string>

#include "app/inside/chores.h"
#include "core/text/timestamp.h"

namespace brimwatch {

class JournalSize {
 public:
  JournalSize(Chores& chores, std::string journal) : chores_(chores), journal_(std::move(journal)) {}
  void on_beat(Nanos steady);
  [[nodiscard]] std::uint64_t bytes() const { return bytes_; }

 private:
  Chores& chores_;
  std::string journal_;
  std::uint64_t bytes_ = 0;
  Nanos measured_ = 0;
};

}  // namespace brimwatch
