#include <algorithm>
#include <optional>

#include "adapters/guessing/fields/relations.h"

namespace brimwatch {
namespace {

/// The prices that are left, and the close if one was found.
std::vector<std::size_t> prices_of_bar(const FieldsInHand& hand) {
  auto prices = hand.prices_left();
  if (hand.has(Field::price)) prices.push_back(hand.place_of(Field::price));
  std::sort(prices.begin(), prices.end());
  return prices;
}

struct RangeOfBar {
  std::optional<std::size_t> high, low;
};

RangeOfBar range_in(const Table& table, const std::vector<std::size_t>& prices) {
  RangeOfBar out;
  for (const std::size_t one : prices) {
    const auto under = [&](std::size_t other) { return stays_under(table.columns[other], table.columns[one]) > 0.99; };
    const auto over = [&](std::size_t other) { return stays_under(table.columns[one], table.columns[other]) > 0.99; };
    if (!out.high && std::all_of(prices.begin(), prices.end(), under)) out.high = one;
    else if (!out.low && std::all_of(prices.begin(), prices.end(), over)) out.low = one;
  }
  return out;
}

}  // namespace

void take_range(FieldsInHand& hand) {
  if (hand.has(Field::high) || hand.has(Field::low)) return;
  auto prices = prices_of_bar(hand);
  if (prices.size() < 4) return;
  const RangeOfBar range = range_in(hand.table, prices);
  if (!range.high || !range.low) return;
  hand.set(Field::high, *range.high, "never under the other prices");
  hand.set(Field::low, *range.low, "never above the other prices");
  std::erase_if(prices, [&](std::size_t one) { return one == *range.high || one == *range.low; });
  hand.set(Field::price, prices.back(), "the last of the two prices that are left: the close");
}

}  // namespace brimwatch
