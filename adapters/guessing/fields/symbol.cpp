#include "adapters/guessing/fields.h"
#include "adapters/guessing/fields/evidence.h"
#include "adapters/guessing/fields/looks.h"
#include "adapters/guessing/names.h"

namespace brimwatch {
namespace {

double known_share(const PointerColumn& column, const std::set<std::string>& symbols) {
  double count = 0, known = 0;
  for (const Leaf* leaf : column.cells) {
    if (leaf == nullptr || leaf->kind == Leaf::Kind::nothing) continue;
    ++count;
    known += symbols.count(leaf->text) != 0;
  }
  return count > 0 ? known / count : 0;
}

struct SymbolFit {
  double total = 0, name = 0, parts = 0, known = 0;
};

SymbolFit symbol_fit(const Table& table, const PointerColumn& column, const Known& known) {
  SymbolFit out;
  const bool text = column.texts > 0.9 && column.symbols > 0.9;
  const bool number =
      column.numeric > 0.95 && column.whole == 1 && column.truths == 0 && column.distinct * 2 <= column.given;
  if ((!text && !number) || column.time || column.present < 0.7) return out;
  out.name = name_speaks_for(Field::symbol, column.name);
  out.parts = parts_prices(table, column);
  out.known = known_share(column, known.symbols);
  out.total = (out.name < 0 ? -0.4 : 0.5 * out.name) + 0.4 * out.parts + 0.35 * out.known;
  if (number) return out.total -= out.parts > 0.6 ? 0.1 : 0.5, out;
  const TextLooks looks = looks_of(column);
  out.total += 0.15 * looks.upper + (looks.length >= 2 && looks.length <= 12 ? 0.12 : 0) - 0.35 * looks.single -
               0.4 * looks.mic - (looks.tape_word > 0.5 ? 0.6 : 0);
  if (column.pointer.starts_with("frame:")) out.total -= 0.05;
  if (column.given > 4 && column.distinct == column.given)
    out.total -= 0.25;  // each its own: more like a number of a trade
  return out;
}

/// Where no symbol stands, the number that other messages have beside each symbol.
std::optional<FieldGuess> number_of_symbol(const Table& table, const Known& known) {
  for (const auto& [pointer, numbers] : known.numbers) {
    const PointerColumn* column = table.find(pointer);
    if (column != nullptr && column->present > 0.9 && known_share(*column, numbers) > 0.9)
      return FieldGuess{pointer, Sure::sure, "numbers that other messages have beside each symbol"};
  }
  return std::nullopt;
}

}  // namespace

std::optional<FieldGuess> guess_symbol(const Table& table, const Known& known) {
  const PointerColumn* best = nullptr;
  SymbolFit most, second;
  for (const PointerColumn& column : table.columns) {
    if (known.tellers.count(column.pointer) != 0 || column.pointer == "event") continue;
    const SymbolFit fit = symbol_fit(table, column, known);
    if (fit.total > most.total) second = most, most = fit, best = &column;
    else if (fit.total > second.total) second = fit;
  }
  if (best == nullptr || most.total < 0.25) return number_of_symbol(table, known);
  const double margin = most.total - second.total;
  const bool proved = most.parts > 0.8 || most.known > 0.9;
  const bool sure = margin > 0.15 && most.name >= 0 && (proved || most.name >= 0.9) && (most.total > 0.55);
  std::string why = most.name >= kStrongName ? "named so" : "";
  if (most.parts > 0.5) why = joined(why, "prices of one value are near each other, of another elsewhere");
  else if (best->is_constant()) why = joined(why, "one value only");
  if (most.known > 0.9) why = joined(why, "the symbols of other messages");
  return FieldGuess{best->pointer, sure ? Sure::sure : Sure::likely, why.empty() ? "written like a symbol" : why};
}

}  // namespace brimwatch
