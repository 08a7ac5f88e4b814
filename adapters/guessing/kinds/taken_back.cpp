#include <algorithm>

#include "adapters/guessing/kinds/across.h"
#include "adapters/guessing/kinds/texts.h"
#include "adapters/guessing/names.h"

namespace brimwatch {
namespace {

std::string id_of_another(const Table& table, const std::set<std::string>& ids) {
  for (const PointerColumn& column : table.columns) {
    std::size_t known = 0;
    for (const Leaf* leaf : column.cells) known += leaf != nullptr && ids.count(leaf->text) != 0;
    if (column.given > 0 && 10 * known >= 8 * column.given && column.fractions == 0 && column.time == std::nullopt &&
        (column.texts > 0.5 || column.least > 20))
      return column.pointer;
  }
  return {};
}

bool has_named(const Table& table, Field field) {
  return std::any_of(table.columns.begin(), table.columns.end(), [&](const PointerColumn& column) {
    return column.numeric > 0.9 && !column.time && name_speaks_for(field, column.name) > 0.7;
  });
}

std::size_t prices_in(const Table& table) {
  return static_cast<std::size_t>(std::count_if(
      table.columns.begin(), table.columns.end(),
      [](const PointerColumn& column) { return column.numeric > 0.9 && column.points > 0.4 && !column.time; }));
}

void take_back(SortsInHand& hand, std::size_t i, const std::set<std::string>& ids) {
  SortGuess& guess = hand.out[i];
  const auto said = hand.said_of(guess.sort);
  const bool named = said == MessageKind::cancel || said == MessageKind::correct;
  const bool trade_by_name = said == MessageKind::trade && !hand.sorts.kind_pointer.empty();
  const std::string pointer = id_of_another(hand.tables[i], ids);
  if (guess.is == MessageKind::quote || trade_by_name || (!named && pointer.empty())) return;
  if (!guess_symbol(hand.tables[i], hand.known_to(i))) return;
  const bool new_value = has_named(hand.tables[i], Field::price) || has_named(hand.tables[i], Field::size);
  const bool new_price = (has_named(hand.tables[i], Field::old_price) && new_value) || prices_in(hand.tables[i]) >= 2;
  const MessageKind kind = named && hand.sorts.sorts[i].word.size() + hand.sorts.sorts[i].second.size() > 1 ? *said
                           : new_price ? MessageKind::correct
                                       : MessageKind::cancel;
  guess.is = kind;
  guess.fields = guess_fields(hand.tables[i], kind, hand.known_to(i));
  if (!pointer.empty()) {
    std::erase_if(guess.fields, [&](const auto& row) { return row.second.pointer == pointer; });
    guess.fields[Field::id] = {pointer, Sure::sure, "the numbers of earlier trades"};
  }
  guess.sure = named && !pointer.empty() ? Sure::sure : Sure::likely;
  guess.why = pointer.empty() ? "named so" : "names the number of an earlier trade";
}

}  // namespace

void find_taken_back(SortsInHand& hand) {
  const std::size_t main = hand.main_sort();
  if (main == hand.out.size() || hand.out[main].is != MessageKind::trade) return;
  std::set<std::string> ids;
  const auto id = hand.out[main].fields.find(Field::id);
  if (id != hand.out[main].fields.end()) ids = texts_of(*hand.tables[main].find(id->second.pointer));
  for (std::size_t i = 0; i < hand.out.size(); ++i) {
    if (i != main) take_back(hand, i, ids);
  }
}

}  // namespace brimwatch
