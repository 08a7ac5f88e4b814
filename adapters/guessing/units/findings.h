#pragma once
// What is found of a source's units while they are looked for: keys of the mapping, their evidence, what has to be asked.
#include <string>
#include <vector>

#include "adapters/guessing/layout.h"
#include "adapters/guessing/proposal.h"

namespace brimwatch {

class UnitFindings {
 public:
  UnitFindings(const std::vector<Record>& records, Proposal& into) : records_(records), into_(into) {}

  [[nodiscard]] const std::vector<Record>& records() const { return records_; }
  [[nodiscard]] const std::vector<SortGuess>& sorts() const { return into_.sorts; }
  [[nodiscard]] FeedSettings& settings() { return into_.settings; }
  [[nodiscard]] const FeedSettings& settings() const { return into_.settings; }

  void note(const std::string& key, const std::string& value, Sure sure, const std::string& why) {
    into_.keys.push_back({key, value, sure, why});
  }
  void ask(const std::string& what) { into_.asked.push_back(what); }

  /// The sorts that become ticks.
  template <typename Take>
  void each_market(Take take) const {
    for (const SortGuess& guess : into_.sorts) {
      if (is_market(guess.kind)) take(guess);
    }
  }

  /// Every value at a field of a sort, in the order of the sample.
  [[nodiscard]] std::vector<const Leaf*> values_at(const SortGuess& guess, Field field) const;

 private:
  const std::vector<Record>& records_;
  Proposal& into_;
};

}  // namespace brimwatch
