#include <utility>

#include "adapters/guessing/kinds/across.h"
#include "adapters/guessing/kinds/needs.h"
#include "adapters/guessing/volumes.h"

namespace brimwatch {
namespace {

/// A trade that is told again, with the day's volume: it counts nothing twice as a state of the day.
void make_day(SortsInHand& hand, std::size_t i) {
  FieldGuesses fields = guess_fields(hand.tables[i], MessageKind::day, hand.known_to(i));
  if (!has_field(fields, Field::day_volume) || !has_field(fields, Field::price)) return;
  hand.out[i].is = hand.out[i].kind = MessageKind::day;
  hand.out[i].fields = std::move(fields);
  hand.out[i].why += "; taken as the state of the day instead";
}

}  // namespace

void count_once(SortsInHand& hand) {
  for (SortGuess& guess : hand.out) guess.kind = guess.is;
  count_volume_once(hand.records, hand.out);  // which may add sorts behind these
  for (std::size_t i = 0; i < hand.tables.size(); ++i) {
    if (hand.out[i].is != MessageKind::trade || hand.out[i].kind != MessageKind::ignore) continue;
    if (has_field(hand.out[i].fields, Field::day_volume)) make_day(hand, i);
  }
}

}  // namespace brimwatch
