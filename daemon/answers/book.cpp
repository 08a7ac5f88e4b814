#include "answers/book.h"

#include <algorithm>
#include <cmath>

namespace brimwatch {

Position position_of(const Holding& holding, const std::function<double(Date)>& factor_since) {
  long double last = 0, mean = 0, held = 0;
  bool all_counted = true;
  for (const Deal& one : holding.deals) {
    const long double factor = factor_since(one.day), count = static_cast<long double>(one.shares.micros) / factor;
    if (one.kind == AnswerKind::sold) {
      held = std::max(held - count, 0.0L);
      continue;
    }
    last = static_cast<long double>(one.price.micros) * factor;
    all_counted = all_counted && count > 0;
    if (count > 0) mean = (mean * held + last * count) / (held + count);
    held += count;
  }
  if (!all_counted) return {Price{std::llround(last)}, {}};
  return {Price{std::llround(mean)}, Shares{std::llround(held)}};
}

bool AnswerBook::take(const Answer& answer) {
  if (!ids_.emplace(answer.id, ids_.size()).second) return false;
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
      take_deal(answer);
      break;
    case AnswerKind::sold:
      if (answer.shares == Shares{}) holdings_.erase(answer.symbol);
      else if (holdings_.contains(answer.symbol)) take_deal(answer);
      break;
    case AnswerKind::acknowledge:
    case AnswerKind::mute:
    case AnswerKind::unmute:
      break;
  }
  return true;
}

void AnswerBook::take_deal(const Answer& answer) {
  const WatchKey key{answer.symbol, answer.pivot};
  Holding& holding = holdings_[answer.symbol];
  if (answer.kind == AnswerKind::bought && holding.watch != key) holding.watch = key, holding.watch_from = answer.day;
  holding.deals.push_back({answer.kind, answer.price, answer.shares, answer.day});
  holding.said.push_back(answer);
}

void AnswerBook::take_again(const Answer& answer) {
  const auto held = holdings_.find(answer.symbol);
  if (ids_.erase(answer.id) > 0 && held != holdings_.end()) {
    auto& [watch, from, deals, said] = held->second;
    const auto before = std::find_if(said.begin(), said.end(), [&](const Answer& one) { return one.id == answer.id; });
    if (before != said.end()) {
      deals.erase(deals.begin() + (before - said.begin()));
      said.erase(before);
    }
  }
  take(answer);
}

std::vector<Answer> AnswerBook::standing() const {
  std::vector<Answer> out;
  for (const auto& [key, answer] : added_) out.push_back(answer);
  for (const auto& [key, answer] : dropped_) out.push_back(answer);
  for (const auto& [symbol, holding] : holdings_) out.insert(out.end(), holding.said.begin(), holding.said.end());
  // Not by their times: a clock may have been set back between them.
  std::sort(out.begin(), out.end(), [&](const Answer& a, const Answer& b) { return ids_.at(a.id) < ids_.at(b.id); });
  return out;
}

const Holding* AnswerBook::holding(std::string_view symbol) const {
  const auto found = holdings_.find(symbol);
  return found == holdings_.end() ? nullptr : &found->second;
}

}  // namespace brimwatch
