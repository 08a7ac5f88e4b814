#include <algorithm>
#include <map>

#include "adapters/guessing/kinds/across.h"
#include "adapters/guessing/kinds/needs.h"
#include "adapters/guessing/kinds/sort_judge.h"
#include "adapters/guessing/kinds/texts.h"

namespace brimwatch {
namespace {

bool go_together(const PointerColumn& a, const PointerColumn& b) {
  std::map<std::string, std::string> of_a;
  std::set<std::string> seen;
  for (std::size_t i = 0; i < a.cells.size(); ++i) {
    if (a.cells[i] == nullptr || b.cells[i] == nullptr) return false;
    const auto [place, fresh] = of_a.try_emplace(a.cells[i]->text, b.cells[i]->text);
    if (place->second != b.cells[i]->text || (fresh && !seen.insert(b.cells[i]->text).second)) return false;
  }
  return true;
}

Known without_numbers(const SortsInHand& hand, std::size_t i) {
  Known out = hand.known_to(i);
  out.numbers.clear();
  return out;
}

bool is_symbol_elsewhere(const SortsInHand& hand, const PointerColumn& column, std::size_t but) {
  for (std::size_t i = 0; i < hand.out.size(); ++i) {
    const auto symbol = hand.out[i].fields.find(Field::symbol);
    if (i == but || !is_market(hand.out[i].is) || symbol == hand.out[i].fields.end()) continue;
    const PointerColumn* theirs = hand.tables[i].find(symbol->second.pointer);
    if (theirs == nullptr || theirs->numeric < 1) continue;
    for (const Leaf* leaf : column.cells) {
      const bool there = leaf != nullptr &&
                         std::any_of(theirs->cells.begin(), theirs->cells.end(),
                                     [&](const Leaf* other) { return other != nullptr && other->text == leaf->text; });
      if (there) return true;
    }
  }
  return false;
}

/// The symbol that stands beside the numbers, if there is one.
std::optional<FieldGuess> symbol_beside(const SortsInHand& hand, std::size_t i, const std::string& numbers) {
  Known fresh = hand.known;
  fresh.symbols.clear();
  fresh.tellers.insert(numbers);
  return guess_symbol(hand.tables[i], fresh);
}

void judge_naming(SortsInHand& hand, std::size_t i) {
  for (const PointerColumn& column : hand.tables[i].columns) {
    if (column.numeric < 1 || column.whole < 1 || column.time || !is_symbol_elsewhere(hand, column, i)) continue;
    const auto symbol = symbol_beside(hand, i, column.pointer);
    if (!symbol) continue;
    hand.out[i].is = MessageKind::naming;
    hand.out[i].sure = Sure::likely;
    hand.out[i].why = "its numbers stand for the symbols of other messages";
    hand.out[i].fields = {{Field::symbol, *symbol},
                          {Field::number, {column.pointer, Sure::likely, "the symbols of other messages"}}};
    return;
  }
}

}  // namespace

void find_numbers(SortsInHand& hand) {
  const std::size_t main = hand.main_sort();
  if (main == hand.out.size() || !has_field(hand.out[main].fields, Field::symbol)) return;
  const PointerColumn* symbols = hand.tables[main].find(hand.out[main].fields.at(Field::symbol).pointer);
  if (symbols == nullptr || symbols->numeric > 0 || symbols->distinct < 2) return;
  for (const PointerColumn& column : hand.tables[main].columns) {
    if (column.numeric < 1 || column.whole < 1 || column.time || column.present < 1) continue;
    if (column.distinct == symbols->distinct && go_together(column, *symbols))
      hand.known.numbers[column.pointer] = texts_of(column);
  }
  for (std::size_t i = 0; i < hand.out.size() && !hand.known.numbers.empty(); ++i) {
    const bool nothing = hand.out[i].is == MessageKind::ignore || hand.out[i].is == MessageKind::unknown;
    if (nothing && !guess_symbol(hand.tables[i], without_numbers(hand, i))) hand.out[i] = judge_sort(hand, i);
  }
}

void find_namings(SortsInHand& hand) {
  for (std::size_t i = 0; i < hand.out.size(); ++i) {
    const MessageKind is = hand.out[i].is;
    if (is == MessageKind::unknown || is == MessageKind::ignore || is == MessageKind::accepted) judge_naming(hand, i);
  }
}

}  // namespace brimwatch
