#include <cmath>
#include <utility>

#include "adapters/guessing/fields/relations.h"

namespace brimwatch {
namespace {

double gap(const Table& table, std::size_t low, std::size_t high) {
  const double a = table.columns[low].most, b = table.columns[high].most;
  return b > 0 ? std::abs(b - a) / b : 1;
}

}  // namespace

void take_spread(FieldsInHand& hand) {
  if (hand.has(Field::bid) || hand.has(Field::ask)) return;
  const auto prices = hand.prices_left();
  for (const std::size_t low : prices) {
    for (const std::size_t high : prices) {
      if (low == high || stays_under(hand.table.columns[low], hand.table.columns[high]) < 0.97 ||
          gap(hand.table, low, high) > 0.05)
        continue;
      if (stays_under(hand.table.columns[high], hand.table.columns[low]) > 0.5) continue;
      hand.set(Field::bid, low, "never above " + hand.table.columns[high].pointer + ", and near it");
      return hand.set(Field::ask, high, "never under " + hand.table.columns[low].pointer + ", and near it");
    }
  }
}

void take_sizes(FieldsInHand& hand) {
  if (!hand.has(Field::bid) || !hand.has(Field::ask) || hand.has(Field::bid_size) || hand.has(Field::ask_size)) return;
  std::vector<std::size_t> sizes;
  for (std::size_t i = 0; i < hand.table.columns.size(); ++i) {
    if (hand.is_free(i) && hand.behaviours[i].size >= 0.5 && !hand.table.columns[i].time && hand.behaviours[i].id < 0.8)
      sizes.push_back(i);
  }
  if (sizes.size() < 2) return;
  if (hand.place_of(Field::ask) < hand.place_of(Field::bid)) std::swap(sizes[0], sizes[1]);
  hand.set(Field::bid_size, sizes[0], "in the order of the prices");
  hand.set(Field::ask_size, sizes[1], "in the order of the prices");
}

}  // namespace brimwatch
