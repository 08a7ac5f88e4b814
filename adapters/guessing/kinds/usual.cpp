#include "adapters/guessing/kinds/across.h"

namespace brimwatch {

void judge_again_by_usual(SortsInHand& hand) {
  const std::size_t main = hand.main_sort();
  if (main == hand.out.size()) return;
  for (const auto& [field, guess] : hand.out[main].fields) {
    if (guess.sure == Sure::sure || field == Field::time || field == Field::symbol)
      hand.known.usual[field] = guess.pointer;
  }
  for (std::size_t i = 0; i < hand.out.size(); ++i) {
    if (i != main && is_market(hand.out[i].is))
      hand.out[i].fields = guess_fields(hand.tables[i], hand.out[i].is, hand.known_to(i));
  }
}

}  // namespace brimwatch
