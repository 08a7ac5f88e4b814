#pragma once
// Watches that have left the list and may come back: dropped by an answer, or not in the file that was read last. One
// that comes back on the same day goes on where it stood, as after a restart: what it told is not told again, and the ids
// of notices go on. Its mute ends, for whoever puts it back wants to hear of it; and a half-confirmed crossing, for
// nobody looked whether the price stayed. Pure.
#include <functional>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "core/state.h"

namespace brimwatch {

class Departed {
 public:
  /// Beyond that many, only watches are kept that have told something on their day.
  static constexpr std::size_t kMost = 100'000;

  /// `dirty`: the journal does not have this state yet.
  void leave(WatchState state, bool dirty);
  /// Takes out those that are on a list again; without their mutes and half-confirmed crossings.
  [[nodiscard]] std::vector<WatchState> come_back(const std::function<bool(const WatchState&)>& is_listed);
  /// For the journal, those it does not have.
  void take_changed(std::vector<WatchState>& to);
  void add_all(std::vector<WatchState>& to) const;

 private:
  struct One {
    WatchState state;
    bool dirty = false;
  };
  std::map<std::pair<std::string, Price>, One> all_;
};

}  // namespace brimwatch
