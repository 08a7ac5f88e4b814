#include "adapters/guessing/kinds/line_of_names.h"

#include <algorithm>

#include "adapters/guessing/names.h"

namespace brimwatch {
namespace {

bool has_places(const Table& table, std::size_t count) {
  return table.find("/" + std::to_string(count - 1)) != nullptr && table.find("/" + std::to_string(count)) == nullptr;
}

bool is_line_of(const Table& table, const std::vector<std::string>& names) {
  if (table.columns.size() < names.size()) return false;
  for (std::size_t place = 0; place < names.size(); ++place) {
    const PointerColumn* column = table.find("/" + std::to_string(place));
    if (column == nullptr || column->distinct != 1 || first_text(*column) != names[place]) return false;
  }
  return true;
}

}  // namespace

void give_names(Table& table, const Sort& sort, const std::vector<PlaceNames>& lists) {
  const PlaceNames* best = nullptr;
  for (const PlaceNames& list : lists) {
    if (!has_places(table, list.names.size())) continue;
    const auto kind = kind_of_word(list.before);
    const bool ours = list.before == sort.word || (kind && kind == kind_of_word(sort.word));
    if (best == nullptr || ours) best = &list;
  }
  for (std::size_t i = 0; best != nullptr && i < best->names.size(); ++i) {
    for (PointerColumn& column : table.columns) {
      if (column.pointer == "/" + std::to_string(i)) column.name = pointer_to("", best->names[i]);
    }
  }
}

bool is_line_of_names(const Table& table, const std::vector<PlaceNames>& lists) {
  return std::any_of(lists.begin(), lists.end(), [&](const PlaceNames& list) { return is_line_of(table, list.names); });
}

std::string first_text(const PointerColumn& column) {
  for (const Leaf* leaf : column.cells) {
    if (leaf != nullptr && leaf->kind == Leaf::Kind::text) return leaf->text;
  }
  return {};
}

}  // namespace brimwatch
