#pragma once
// Keeps added.toml beside the journal as the answers have it. For people: what counts are the journal's rows.
#include <string>

#include "app/inside/chores.h"
#include "core/log_sink.h"
#include "live/house.h"

namespace brimwatch {

class AddedFileKeeper {
 public:
  AddedFileKeeper(House& house, Chores& chores, std::string file, LogSink say, LogSink trouble)
      : house_(house), chores_(chores), file_(std::move(file)), say_(std::move(say)), trouble_(std::move(trouble)) {}

  /// `list`: what was added and dropped (answers/lists.h).
  void keep(const std::string& list);

 private:
  void tell_changed_by_hand(const std::string& aside);

  House& house_;
  Chores& chores_;
  std::string file_;
  LogSink say_, trouble_;
};

}  // namespace brimwatch
