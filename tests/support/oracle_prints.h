#pragma once
// What the second engine asks of a print: what its codes let it move, how far it is off, whether it is that trade.
#include <cmath>
#include <string_view>

#include "core/tick.h"

namespace brimwatch::test {

constexpr Shares kBelievable = Shares::whole(4'000'000'000'000);  // of a day

struct Column {
  bool last, high_low, volume, first_only, sold_last;
  bool auction = false, odd_lot = false;
};

// Tapes A and B, only the codes that the random tapes use.
inline Column column_of(const Conditions& conditions) {
  Column c{true, true, true, false, false};
  for (const char code : conditions.view()) {
    switch (code) {
      case 'F':
        break;
      case 'O':
      case '5':
      case '6':
        c.auction = true;
        break;
      case 'I':
        c.last = c.high_low = false;
        c.odd_lot = true;
        break;
      case 'T':
      case 'B':
        c.last = c.high_low = false;
        break;
      case 'M':
        c.last = c.high_low = c.volume = false;
        break;
      case 'Z':
      case '4':
        c.first_only = true;
        break;
      case 'L':
        c.sold_last = true;
        break;
      case '9':
        c.volume = false;
        break;
      default:
        c.last = c.high_low = false;
    }
  }
  return c;
}

inline bool has(const Conditions& conditions, char code) {
  return conditions.view().find(code) != std::string_view::npos;
}

inline bool same_trade(const Tick& a, const Tick& b) {
  if (a.id == 0 || b.id == 0) return a.price == b.price && a.time == b.time;
  return a.id == b.id && (a.exchange == 0 || b.exchange == 0 || a.exchange == b.exchange);
}

}  // namespace brimwatch::test
