#include "adapters/guessing/fields/in_hand.h"

#include <algorithm>
#include <utility>

#include "adapters/guessing/names.h"

namespace brimwatch {

FieldsInHand::FieldsInHand(const Table& table_of_sort, MessageKind of_kind, const Known& known_so_far)
    : table(table_of_sort), kind(of_kind), known(known_so_far) {
  for (const PointerColumn& column : table.columns) behaviours.push_back(behaviour_of(table, column));
}

bool FieldsInHand::is_free(std::size_t column) const {
  return used.count(column) == 0 && known.tellers.count(table.columns[column].pointer) == 0;
}

void FieldsInHand::use(const std::string& pointer) {
  for (std::size_t i = 0; i < table.columns.size(); ++i) {
    if (table.columns[i].pointer == pointer) used.insert(i);
  }
}

void FieldsInHand::set(Field field, std::size_t column, std::string why) {
  out[field] = {table.columns[column].pointer, Sure::likely, std::move(why)};
  used.insert(column);
}

std::vector<std::size_t> FieldsInHand::prices_left() const {
  std::vector<std::size_t> left;
  for (std::size_t i = 0; i < table.columns.size(); ++i) {
    const PointerColumn& column = table.columns[i];
    const bool number = column.numeric > 0.95 && column.least > 0 && !column.time && column.present > 0.8;
    const bool range = kind != MessageKind::bar && std::max(name_speaks_for(Field::low, column.name),
                                                            name_speaks_for(Field::high, column.name)) > 0.8;
    if (is_free(i) && number && !range && behaviours[i].price >= 0.4 && name_speaks_for(Field::price, column.name) >= 0)
      left.push_back(i);
  }
  return left;
}

std::size_t FieldsInHand::place_of(Field field) const {
  const std::string& pointer = out.at(field).pointer;
  return static_cast<std::size_t>(table.find(pointer) - table.columns.data());
}

}  // namespace brimwatch
