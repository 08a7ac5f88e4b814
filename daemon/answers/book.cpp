#include "answers/book.h"

#include <cmath>

namespace brimwatch {

Position position_of(const Holding& holding, const std::function<double(Date)>& factor_since) {
  Position out;
  long double paid = 0, shares = 0;
  bool all_counted = true;
  for (const Purchase& one : holding.purchases) {
    const long double factor = factor_since(one.day), count = static_cast<long double>(one.shares.micros) / factor;
    out.bought = Price{std::llround(static_cast<long double>(one.price.micros) * factor)};
    out.shares = Shares{std::llround(count)};
    paid += static_cast<long double>(out.bought.micros) * count;
    shares += count;
    all_counted = all_counted && one.shares > Shares{};
  }
  if (!all_counted || holding.purchases.size() < 2) return out;
  return {Price{std::llround(paid / shares)}, Shares{std::llround(shares)}};
}

bool AnswerBook::take(const Answer& answer) {
  if (!ids_.insert(answer.id).second) return false;
  const WatchKey key{answer.symbol, answer.pivot};
  switch (answer.kind) {
    case AnswerKind::add:
      added_[key] = answer;
      dropped_.erase(key);
      break;
    case AnswerKind::drop:
      added_.erase(key);
      dropped_.insert(key);
      break;
    case AnswerKind::bought:
      holdings_[answer.symbol].watch = key;
      holdings_[answer.symbol].purchases.push_back({answer.price, answer.shares, answer.day});
      break;
    case AnswerKind::sold:
      holdings_.erase(answer.symbol);
      break;
    case AnswerKind::acknowledge:
    case AnswerKind::mute:
    case AnswerKind::unmute:
      break;
  }
  return true;
}

const Holding* AnswerBook::holding(std::string_view symbol) const {
  const auto found = holdings_.find(symbol);
  return found == holdings_.end() ? nullptr : &found->second;
}

}  // namespace brimwatch
