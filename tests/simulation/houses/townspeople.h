#pragma once
// People who answer at any of the machines, at any moment; and what must be true of their answers when all is over: what
// somebody was told is kept, is kept on every machine, once, and of each stock in one order.
#include <set>
#include <string>
#include <vector>

#include "houses/machine.h"

namespace brimwatch::simulation {

class Townspeople {
 public:
  /// They speak of these stocks alone: what is told of the others is held against a house to which nobody speaks.
  Townspeople(std::uint64_t seed, std::set<std::string> stocks, Tally& tally)
      : dice_(seed, "townspeople"), stocks_(std::move(stocks)), tally_(tally) {}

  void answer_at(Machine& machine);
  [[nodiscard]] bool speak_of(const std::string& stock) const { return stocks_.contains(stock); }
  /// What is wrong with what the machines have kept, one line each.
  [[nodiscard]] std::vector<std::string> troubles(const std::vector<std::unique_ptr<Machine>>& machines) const;

 private:
  [[nodiscard]] AnswerRequest think_of_one(const Snapshot& view);

  Dice dice_;
  std::set<std::string> stocks_;
  Tally& tally_;
  std::vector<std::string> kept_;  ///< ids of which somebody was told that they are
};

}  // namespace brimwatch::simulation
