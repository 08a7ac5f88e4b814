#include "adapters/guessing/fields/evidence.h"
#include "adapters/guessing/fields/looks.h"
#include "adapters/guessing/fields/relations.h"

namespace brimwatch {
namespace {

constexpr double kRoundLot = 100;  ///< of nearly all shares

/// Set for every smaller trade and for no other, and some of both were seen.
bool is_set_for_odd_lots(const PointerColumn& flags, const PointerColumn& sizes) {
  constexpr std::size_t kProves = 3;
  std::size_t odd = 0, round = 0;
  for (std::size_t i = 0; i < sizes.cells.size(); ++i) {
    const auto size = sizes.cells[i] == nullptr ? std::nullopt : number_in(sizes.cells[i]->text);
    const auto flag = flags.cells[i] == nullptr ? std::optional(false) : flag_in(*flags.cells[i]);
    if (!size || !flag || *flag != (*size < kRoundLot)) return false;
    ++(*flag ? odd : round);
  }
  return odd >= kProves && round >= kProves;
}

}  // namespace

void take_odd_lot(FieldsInHand& hand) {
  if (!hand.has(Field::size)) return;
  const PointerColumn& sizes = hand.table.columns[hand.place_of(Field::size)];
  for (std::size_t i = 0; i < hand.table.columns.size(); ++i) {
    const PointerColumn& column = hand.table.columns[i];
    const bool named = hand.has(Field::odd_lot) && hand.place_of(Field::odd_lot) == i;
    const bool free = !hand.has(Field::odd_lot) && hand.is_free(i);
    if ((!named && !free) || !are_flags(column) || !is_set_for_odd_lots(column, sizes)) continue;
    hand.set(Field::odd_lot, i, joined(named ? "named so" : "", "set just where the size is under 100"));
    hand.out.at(Field::odd_lot).sure = Sure::sure;
    return;
  }
}

}  // namespace brimwatch
