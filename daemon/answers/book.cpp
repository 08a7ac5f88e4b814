#include "answers/book.h"

#include <algorithm>
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
      dropped_[key] = answer;
      break;
    case AnswerKind::bought:
      holdings_[answer.symbol].watch = key;
      holdings_[answer.symbol].purchases.push_back({answer.price, answer.shares, answer.day});
      holdings_[answer.symbol].said.push_back(answer);
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

void AnswerBook::take_again(const Answer& answer) {
  const auto held = holdings_.find(answer.symbol);
  if (ids_.erase(answer.id) > 0 && answer.kind == AnswerKind::bought && held != holdings_.end()) {
    Holding& holding = held->second;
    for (std::size_t i = 0; i < holding.said.size(); ++i) {
      if (holding.said[i].id != answer.id) continue;
      holding.said.erase(holding.said.begin() + static_cast<std::ptrdiff_t>(i));
      holding.purchases.erase(holding.purchases.begin() + static_cast<std::ptrdiff_t>(i));
      break;
    }
  }
  take(answer);
}

std::vector<Answer> AnswerBook::standing() const {
  std::vector<Answer> out;
  for (const auto& [key, answer] : added_) out.push_back(answer);
  for (const auto& [key, answer] : dropped_) out.push_back(answer);
  for (const auto& [symbol, holding] : holdings_) out.insert(out.end(), holding.said.begin(), holding.said.end());
  std::stable_sort(out.begin(), out.end(), [](const Answer& a, const Answer& b) { return a.at < b.at; });
  return out;
}

const Holding* AnswerBook::holding(std::string_view symbol) const {
  const auto found = holdings_.find(symbol);
  return found == holdings_.end() ? nullptr : &found->second;
}

}  // namespace brimwatch
