#pragma once
// What each sort of message is: trades, quotes, bars, ... Pure.
#include <string>
#include <vector>

#include "adapters/guessing/fields.h"
#include "adapters/guessing/places.h"
#include "adapters/guessing/sorts.h"

namespace brimwatch {

struct SortGuess {
  Sort sort;
  MessageKind is = MessageKind::unknown;    ///< what it is
  MessageKind kind = MessageKind::unknown;  ///< what the mapping takes it for: what is not needed is ignored
  Sure sure = Sure::likely;
  std::string why;
  std::string question;    ///< what has to be asked of it; empty: nothing
  std::string at, equals;  ///< a value that tells it from others under the same word; empty: there is none
  FieldGuesses fields;
};

/// As many as there are sorts, in their order.
/// `names`: what the source itself calls the places of its lists, where it says so.
[[nodiscard]] std::vector<SortGuess> guess_kinds(const std::vector<Record>& records, const Sorts& sorts,
                                                 const std::vector<PlaceNames>& names = {});

/// "trade", "quote", ..., "ignore".
[[nodiscard]] std::string_view kind_word(MessageKind kind);

/// Trades, quotes and the like, which become ticks.
[[nodiscard]] bool is_market(MessageKind kind);

}  // namespace brimwatch
