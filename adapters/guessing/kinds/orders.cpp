#include <algorithm>

#include "adapters/guessing/kinds/across.h"
#include "adapters/guessing/kinds/texts.h"

namespace brimwatch {
namespace {

/// How many values in messages that are no trades, at the same pointer, are among the numbers.
std::size_t named_again(const SortsInHand& hand, std::size_t but, const std::string& pointer,
                        const std::set<std::string>& numbers) {
  std::size_t again = 0;
  for (std::size_t other = 0; other < hand.tables.size(); ++other) {
    const PointerColumn* column = other == but ? nullptr : hand.tables[other].find(pointer);
    if (column == nullptr || hand.out[other].is == MessageKind::trade) continue;
    again += static_cast<std::size_t>(std::count_if(column->cells.begin(), column->cells.end(), [&](const Leaf* leaf) {
      return leaf != nullptr && numbers.contains(leaf->text);
    }));
  }
  return again;
}

bool is_taken_back_often(const SortsInHand& hand, std::size_t i) {
  for (const PointerColumn& number : hand.tables[i].columns) {
    if (number.fractions > 0 || number.time || 10 * number.distinct < 9 * number.given) continue;
    const std::set<std::string> numbers = texts_of(number);
    const std::size_t again = named_again(hand, i, number.pointer, numbers);
    if (numbers.size() > 10 && 5 * again >= numbers.size()) return true;
  }
  return false;
}

}  // namespace

void find_orders(SortsInHand& hand) {
  for (std::size_t i = 0; i < hand.out.size(); ++i) {
    const bool named = hand.said_of(hand.out[i].sort) == MessageKind::trade && hand.out[i].sort.word.size() > 1;
    if (hand.out[i].is != MessageKind::trade || named || !is_taken_back_often(hand, i)) continue;
    const bool others = std::any_of(hand.out.begin(), hand.out.end(), [&](const SortGuess& other) {
      return &other != &hand.out[i] && other.is == MessageKind::trade;
    });
    hand.out[i].sure = Sure::likely;
    hand.out[i].why += "; but other messages name so many of its numbers that these may be orders";
    if (!others) continue;
    hand.out[i].is = MessageKind::ignore;
    hand.out[i].fields.clear();
    hand.out[i].why = "orders: other messages name many of its numbers again, and trades come besides";
  }
}

}  // namespace brimwatch
