#pragma once
// People who answer at any moment: mute, unmute, add, drop, say that they bought and sold, all or a part. What they were
// told is kept must be kept.
#include "dice.h"
#include "life.h"

namespace brimwatch::simulation {

class People {
 public:
  People(std::uint64_t seed, Ledger& ledger, Tally& tally) : dice_(seed, "people"), ledger_(ledger), tally_(tally) {}

  /// Time to the next answer.
  [[nodiscard]] Nanos wait() { return dice_.wait(12); }
  void answer(Life& life);

 private:
  [[nodiscard]] AnswerRequest think_of_one(const Snapshot& view);
  [[nodiscard]] AnswerRequest think_of_more();
  [[nodiscard]] static bool may_go(const Snapshot& view, const WatchRow& row);

  Dice dice_;
  Ledger& ledger_;
  Tally& tally_;
};

}  // namespace brimwatch::simulation
