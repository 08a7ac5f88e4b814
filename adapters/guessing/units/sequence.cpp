#include <algorithm>
#include <optional>
#include <set>

#include "adapters/guessing/names.h"
#include "adapters/guessing/units/parts.h"

namespace brimwatch {
namespace {

/// Values of a counter, of each frame one where they stand around its messages.
struct Counted {
  explicit Counted(std::size_t most) { cells.reserve(most); }

  void add(const Record& record, const std::string& pointer) {
    const bool around = pointer.starts_with("frame:");
    const Leaf* leaf = record.find(pointer);
    if (leaf == nullptr && around) leaf = record.find(std::string_view(pointer).substr(6));
    if (leaf == nullptr || leaf->kind == Leaf::Kind::nothing) return;
    ++with;
    if (around && frame == record.frame) return;
    frame = record.frame;
    cells.push_back(leaf);
  }
  [[nodiscard]] PointerColumn column() const {
    PointerColumn out;
    out.cells = cells;
    measure(out);
    return out;
  }

  std::vector<const Leaf*> cells;
  std::size_t with = 0;  ///< messages that have it
  std::optional<std::size_t> frame;
};

bool is_taken(const UnitFindings& into, const std::string& pointer) {
  return std::any_of(into.sorts().begin(), into.sorts().end(), [&](const SortGuess& guess) {
    return std::any_of(guess.fields.begin(), guess.fields.end(),
                       [&](const auto& row) { return row.second.pointer == pointer; });
  });
}

}  // namespace

/// A number that counts every message of the sample up by one, or every frame: a frame's stands around all its
/// messages, and at the top of frames that hold none.
void find_sequence(UnitFindings& into) {
  std::set<std::string> pointers;
  for (const Record& record : into.records()) {
    for (const auto& [pointer, leaf] : record.leaves) pointers.insert(pointer);
  }
  for (const std::string& pointer : pointers) {
    if (name_speaks_for(Field::sequence, pointer) < 0.65 || is_taken(into, pointer)) continue;
    if (pointer.starts_with('/') && pointers.count("frame:" + pointer) != 0) continue;
    Counted counted(into.records().size());
    for (const Record& record : into.records()) counted.add(record, pointer);
    const PointerColumn column = counted.column();
    if (column.numeric < 1 || column.time || column.given < 6 || 2 * counted.with < into.records().size()) continue;
    if (column.by_one < 0.98) {
      into.ask("fields.sequence: " + pointer +
               " is named like a number that counts messages, and has gaps in the sample; it is left out");
      return;
    }
    into.settings().fields.sequence = pointer;
    return into.note("fields.sequence", pointer, Sure::sure, "counts every message up by one");
  }
}

}  // namespace brimwatch
