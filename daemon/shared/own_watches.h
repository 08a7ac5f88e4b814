#pragma once
// The watches as this machine's own engine has them, where the log has them otherwise; and which of the two is right. Two
// feeds count differently: the sides and counts of the machine that speaks take the place of the others' own, but for
// what they have heard and it has not. Times are this machine's own clock that goes on while it sleeps. Pure.
#include <functional>
#include <map>
#include <set>
#include <vector>

#include "core/state.h"
#include "shared/entries/view.h"
#include "shared/owed.h"

namespace brimwatch {

class OwnWatches {
 public:
  using Key = SharedView::WatchKey;
  /// Whether a batch on its way to the log has that watch.
  using IsWaiting = std::function<bool(const Key&)>;

  /// `owed` is what the log has not got yet. Both outlive it.
  OwnWatches(const SharedView& view, const Owed& owed) : view_(view), owed_(owed) {}

  /// As this machine's journal had them when it was read. Where the log, once it is read, has them otherwise, they stay
  /// until another is known to lead: it may have been away.
  void begin_with(std::vector<WatchState> watches) { at_start_ = std::move(watches); }
  /// The engine has it so from `now` on.
  void note(const WatchState& state, Nanos now);
  /// What it says went to the log from here, to be told.
  void mark_as_brought(const Key& key);
  /// As the engine has it; null: as the log has it.
  [[nodiscard]] const WatchState* find(const Key& key) const;
  /// The log, or this engine, has heard as much of that watch.
  [[nodiscard]] bool knows(const WatchState& state) const;

  /// Another leads, or led until now, and has changed these: of them, which the engine is to take over. What it has heard
  /// more of stays as it is.
  [[nodiscard]] std::vector<WatchState> take_over(const std::vector<WatchState>& changed, Nanos now);
  /// While this machine speaks, or did until now: what another has changed is looked at when it is known who leads.
  void put_aside(const Key& key) { put_aside_.insert(key); }
  void put_all_aside();
  void forget_aside(const Key& key) { put_aside_.erase(key); }
  [[nodiscard]] bool has_aside() const { return !put_aside_.empty(); }
  /// Another leads after all: of what was put aside, which the engine is to take over.
  [[nodiscard]] std::vector<WatchState> take_over_aside(const IsWaiting& is_waiting);

  /// How this machine comes to lead.
  struct Lead {
    Nanos since = 0;            ///< what its engine has heard from then on, the one before did not write
    bool was_alone = false;     ///< it spoke before, without the log
    const std::set<Key>& told;  ///< watches of notices that it tells now
    const IsWaiting& is_waiting;
  };
  struct Decided {
    std::vector<WatchState> ours;    ///< to be written to the log
    std::vector<WatchState> theirs;  ///< for the engine to take over
  };
  [[nodiscard]] Decided decide(const Lead& lead, Nanos now);

 private:
  struct Own {
    WatchState state;
    Nanos at = 0;  ///< when this machine's engine had it so, or began with it
    bool brought = false;
  };
  void look_at_start(Nanos now);
  [[nodiscard]] bool stays(const Own& own, const Lead& lead) const;
  [[nodiscard]] std::map<Key, WatchState> not_taken_over(const IsWaiting& is_waiting);

  const SharedView& view_;
  const Owed& owed_;
  std::map<Key, Own> own_;
  std::vector<WatchState> at_start_;
  std::set<Key> put_aside_;  ///< the log had them changed by another, and this engine not yet
};

}  // namespace brimwatch
