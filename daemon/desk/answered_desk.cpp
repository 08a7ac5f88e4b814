#include "desk/answered_desk.h"

#include <cmath>
#include <utility>
#include <vector>

namespace brimwatch {

void AnsweredDesk::begin_with(AnswerBook book, Date today) {
  book_ = std::move(book);
  hold_stocks(today);
}

bool AnsweredDesk::take(const Answer& answer, Date today) {
  if (!book_.take(answer)) return false;
  take_effect(answer, today);
  return true;
}

void AnsweredDesk::take_again(const Answer& answer, Date today) {
  book_.take_again(answer);
  take_effect(answer, today);
}

void AnsweredDesk::mute_again(const Answer& answer) {
  if (answer.kind == AnswerKind::mute || answer.kind == AnswerKind::unmute) take_effect(answer, {});
}

void AnsweredDesk::take_effect(const Answer& answer, Date today) {
  Engine& engine = desk_.engine();
  switch (answer.kind) {
    case AnswerKind::mute:
      (void)engine.mute(answer.symbol, answer.pivot, answer.until, answer.under_pivot);
      break;
    case AnswerKind::unmute:
      (void)engine.mute(answer.symbol, answer.pivot, {}, false);
      break;
    case AnswerKind::bought:
      let_go_of(answer.symbol);  // one more purchase: the limits of the new mean are told anew
      hold_stocks(today);
      break;
    case AnswerKind::sold:
      hold_stocks(today);
      break;
    case AnswerKind::acknowledge:
    case AnswerKind::add:
    case AnswerKind::drop:
      break;
  }
}

Position AnsweredDesk::position(const Holding& holding, Date today) const {
  return position_of(holding, [&](Date day) { return desk_.split_factor(holding.watch.symbol, day, today); });
}

void AnsweredDesk::describe(Snapshot& view, Date today) const {
  for (WatchRow& row : view.watches) {
    const Holding* const held = book_.holding(row.symbol);
    if (held != nullptr && held->watch.pivot == row.pivot) row.shares = position(*held, today).shares;
  }
}

void AnsweredDesk::hold_stocks(Date today) {
  std::vector<HeldWatch> held;
  for (const auto& [symbol, holding] : book_.holdings()) {
    const double factor = desk_.split_factor(symbol, holding.watch_from, today);
    const Price pivot = holding.watch.pivot;
    const Price pivot_now{std::llround(static_cast<double>(pivot.micros) * factor)};
    held.push_back({symbol, pivot, pivot_now, position(holding, today).bought});
  }
  desk_.engine().set_holdings(std::move(held));
}

void AnsweredDesk::let_go_of(std::string_view symbol) {
  std::vector<HeldWatch> held = desk_.engine().holdings();
  std::erase_if(held, [&](const HeldWatch& one) { return one.symbol == symbol; });
  desk_.engine().set_holdings(std::move(held));
}

}  // namespace brimwatch
