#pragma once
// Which of the engine's states go to the journal with which batch. A few go with whatever goes, all at once. Where a
// whole market moves, a notice takes those of its own stock along and waits for no others; these go in rounds of several
// batches, the oldest change first, so that a notice that comes meanwhile waits for a part at most. Pure.
#include <algorithm>
#include <cstddef>
#include <set>

#include "core/symbols.h"
#include "engine/engine.h"
#include "journal/journal.h"

namespace brimwatch {

class ChangedStates {
 public:
  struct Sizes {
    std::size_t few = 32;          ///< watches and symbols: less work than the disk's own
    std::size_t part_least = 200;  ///< of one batch
    std::size_t parts_most = 16;   ///< of one round: a slow disk takes its time for each
  };
  explicit ChangedStates(Sizes sizes) : sizes_(sizes) {}

  /// A journal that was read has all that was heard up to then.
  void go_on_from(Timestamp all_kept_until) { all_kept_until_ = std::max(all_kept_until_, all_kept_until); }
  /// `heard`: the newest time of all ticks that the engine has been given.
  void add_all(Engine& engine, JournalBatch& batch, Timestamp heard);
  /// For a journal that has nothing of before.
  void add_unchanged_too(Engine& engine, JournalBatch& batch, Timestamp heard);
  /// Those of the stocks that the batch tells of; to a batch that tells nothing the next part. True: all that has
  /// changed up to now is on its way with this batch, or with this round.
  bool add(Engine& engine, const SymbolTable& symbols, JournalBatch& batch, Timestamp heard);
  /// Parts of the round are left.
  [[nodiscard]] bool has_more() const { return part_ > 0; }
  /// Until it ends, a part goes with every batch: there may be none that tells nothing.
  void hurry() { hurries_ = has_more(); }

 private:
  void add_part(Engine& engine, JournalBatch& batch, Timestamp heard);
  void stamp(JournalBatch& batch) const;

  const Sizes sizes_;
  std::size_t part_ = 0;  ///< watches and symbols of each; 0: no round is under way
  bool hurries_ = false;
  Timestamp round_heard_;     ///< `heard` when it began
  Timestamp all_kept_until_;  ///< the journal gets, with what has been added, all that was heard up to then
};

}  // namespace brimwatch
