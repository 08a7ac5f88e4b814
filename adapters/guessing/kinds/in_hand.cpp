#include "adapters/guessing/kinds/in_hand.h"

#include <algorithm>

#include "adapters/guessing/kinds/line_of_names.h"

namespace brimwatch {

SortsInHand::SortsInHand(const std::vector<Record>& all, const Sorts& by_word, const std::vector<PlaceNames>& of_places)
    : records(all), sorts(by_word), names(of_places), said(by_word) {
  known.tellers.insert(sorts.kind_pointer);
  known.tellers.insert(sorts.second_pointer);
  for (const std::string& teller : std::set<std::string>(known.tellers))
    if (teller.starts_with("frame:")) known.tellers.insert(teller.substr(6));  // of whole frames
  for (const Sort& sort : sorts.sorts) {
    std::vector<const Record*> of_sort;
    for (const std::size_t i : sort.records) of_sort.push_back(&records[i]);
    tables.push_back(table_of(of_sort));
    give_names(tables.back(), sort, names);
  }
  learn_symbols();
}

Known SortsInHand::known_to(std::size_t i) const {
  Known others = known;
  for (std::size_t other = 0; other < learned.size(); ++other) {
    if (other != i) others.symbols.insert(learned[other].begin(), learned[other].end());
  }
  return others;
}

std::size_t SortsInHand::main_sort() const {
  for (const MessageKind kind : kJudgedKinds) {
    for (std::size_t i = 0; i < out.size(); ++i) {
      if (out[i].is == kind) return i;
    }
  }
  return out.size();
}

/// What each sort has for symbols, those that are sure of theirs before the others.
void SortsInHand::learn_symbols() {
  learned.resize(tables.size());
  for (const bool sure_ones : {true, false}) {
    const bool enough = std::any_of(learned.begin(), learned.end(), [](const auto& symbols) { return !symbols.empty(); });
    for (std::size_t i = 0; i < tables.size() && !(enough && !sure_ones); ++i) {
      const auto symbol = guess_symbol(tables[i], known);
      if (symbol && (symbol->sure == Sure::sure) == sure_ones) learn_from(i, symbol->pointer);
    }
  }
}

void SortsInHand::learn_from(std::size_t i, const std::string& pointer) {
  for (const Leaf* leaf : tables[i].find(pointer)->cells) {
    if (leaf != nullptr && leaf->kind != Leaf::Kind::nothing) learned[i].insert(leaf->text);
  }
}

}  // namespace brimwatch
