#include "adapters/guessing/kinds.h"

#include <utility>

#include "adapters/guessing/kinds/across.h"
#include "adapters/guessing/kinds/answers.h"
#include "adapters/guessing/kinds/sort_judge.h"

namespace brimwatch {

std::vector<SortGuess> guess_kinds(const std::vector<Record>& records, const Sorts& sorts,
                                   const std::vector<PlaceNames>& names) {
  SortsInHand hand(records, sorts, names);
  for (std::size_t i = 0; i < hand.tables.size(); ++i) hand.out.push_back(judge_sort(hand, i));
  find_orders(hand);
  find_numbers(hand);
  judge_again_by_usual(hand);
  find_taken_back(hand);
  find_namings(hand);
  count_once(hand);
  for (std::size_t i = 0; i < hand.tables.size(); ++i) settle_answers(hand.out[i], hand.tables[i]);
  return std::move(hand.out);
}

std::string_view kind_word(MessageKind kind) {
  constexpr const char* kWords[] = {"trade", "quote",  "cancel", "correct",  "status", "bar",
                                    "day",   "naming", "ignore", "accepted", "refused"};
  return kind == MessageKind::unknown ? "unknown" : kWords[static_cast<std::size_t>(kind)];
}

bool is_market(MessageKind kind) { return static_cast<std::size_t>(kind) < kKindsWithFields; }

}  // namespace brimwatch
