#include "adapters/guessing/kinds/sort_judge.h"

#include <algorithm>
#include <utility>

#include "adapters/guessing/kinds/answers.h"
#include "adapters/guessing/kinds/line_of_names.h"
#include "adapters/guessing/kinds/needs.h"

namespace brimwatch {
namespace {

constexpr double kWordSays = 0.5, kLetterSays = 0.3, kEnoughForKind = 0.5, kTotalProves = 0.6;

struct Judged {
  MessageKind kind = MessageKind::unknown;
  double score = 0;
  FieldGuesses fields;
};

void group(SortsInHand& hand, std::size_t i) {
  const auto symbol = guess_symbol(hand.tables[i], hand.known_to(i));
  group_by(hand.tables[i], symbol ? symbol->pointer : std::string());
}

bool has_price(const Table& table) {
  return std::any_of(table.columns.begin(), table.columns.end(),
                     [](const PointerColumn& column) { return column.fractions > 0.3 && !column.time; });
}

Judged best_kind(const SortsInHand& hand, std::size_t i, const std::optional<MessageKind>& said) {
  Judged best;
  for (const MessageKind kind : kJudgedKinds) {
    FieldGuesses fields = guess_fields(hand.tables[i], kind, hand.known_to(i));
    double score = found_of(kind, fields);
    if (kind == MessageKind::bar && score > 0 && is_range_of_day(hand.tables[i], fields)) continue;
    if (kind == MessageKind::trade && score > 0 && is_proved_by_total(fields)) score += kTotalProves;
    const bool letter = hand.sorts.sorts[i].word.size() == 1;
    if (score > 0 && said == kind) score += letter ? kLetterSays : kWordSays;
    if (kind == MessageKind::status && has_price(hand.tables[i])) score -= 0.4;
    if (score > best.score) best = {kind, score, std::move(fields)};
  }
  return best;
}

void settle(SortGuess& guess, Judged best, const std::optional<MessageKind>& said) {
  const bool takes_back = said == MessageKind::cancel || said == MessageKind::correct;
  if (said && !is_market(*said) && best.score < 0.9) {
    guess.is = *said;
    guess.sure = best.score > 0.5 ? Sure::likely : Sure::sure;
    guess.why = "named so";
    return;
  }
  if (best.score < kEnoughForKind && !takes_back) {
    guess.is = MessageKind::unknown;
    guess.sure = Sure::asked;
    guess.why = "a symbol, and nothing that tells what it says of it";
    return;
  }
  guess.is = best.kind;
  guess.fields = std::move(best.fields);
  guess.sure = said == best.kind || (!said && best.score > 0.8) ? Sure::sure : Sure::likely;
  guess.why = said == best.kind ? "named so, and has what one needs" : "has what one needs";
  if (said && said != best.kind && !takes_back) guess.why += "; its name says \"" + std::string(kind_word(*said)) + "\"";
}

}  // namespace

SortGuess judge_sort(SortsInHand& hand, std::size_t i) {
  SortGuess guess;
  guess.sort = hand.sorts.sorts[i];
  if (is_line_of_names(hand.tables[i], hand.names)) {
    guess.is = MessageKind::ignore;
    guess.sure = Sure::sure;
    guess.why = "the names of the places in the other lists";
    return guess;
  }
  group(hand, i);
  const auto said = hand.said_of(guess.sort);
  if (!guess_symbol(hand.tables[i], hand.known_to(i))) {
    guess.is = without_symbol(hand.tables[i], said);
    guess.sure = said ? Sure::sure : Sure::likely;
    guess.why = "no symbol in it";
    return guess;
  }
  Judged best = best_kind(hand, i, said);
  const auto answer =
      best.kind == MessageKind::status ? answer_in(hand.tables[i], best.fields.at(Field::status).pointer) : std::nullopt;
  if (answer && said != MessageKind::status) {
    guess.is = *answer;
    guess.sure = Sure::likely;
    guess.why = "an answer: its status says so";
    return guess;
  }
  settle(guess, std::move(best), said);
  return guess;
}

}  // namespace brimwatch
