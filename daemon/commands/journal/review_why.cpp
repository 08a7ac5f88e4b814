#include "commands/journal/review_why.h"

#include <algorithm>
#include <map>

#include "evening/text/why.h"
#include "tape/reader.h"

namespace brimwatch {
namespace {

constexpr Nanos kAround = 10 * kMinute;
constexpr std::size_t kBefore = 2, kAfter = 1;  ///< trades that are shown

using TradesByNotice = std::map<std::string, TradesAround>;

/// Keeps the last trades before each crossing, the crossing's own and the first after it.
class Around {
 public:
  Around(const std::vector<const Crossing*>& crossings, TradesByNotice& into) : crossings_(crossings), into_(into) {}

  void take(const Tick& trade) {
    for (const Crossing* one : crossings_) {
      const Nanos off = trade.time - one->said.notice.time;
      if (off < -kAround || off > kAround) continue;
      TradesAround& trades = into_[one->said.id];
      const auto count = [&](auto is_there) {
        return static_cast<std::size_t>(std::count_if(trades.begin(), trades.end(), is_there));
      };
      const Timestamp then = one->said.notice.time;
      if (off > 0 && count([&](const Tick& kept) { return kept.time > then; }) >= kAfter) continue;
      if (off < 0 && count([&](const Tick& kept) { return kept.time < then; }) >= kBefore) trades.erase(trades.begin());
      trades.push_back(trade);
    }
  }

 private:
  const std::vector<const Crossing*>& crossings_;
  TradesByNotice& into_;
};

void read_tape(const std::string& path, const std::string& symbol, Around& around) {
  SymbolTable symbols;
  auto tape = TapeReader::open(path, symbols);
  if (!tape) return;  // minute bars: their prices are in the daily rows
  const SymbolId wanted = symbols.intern(symbol);
  while (true) {
    const auto ticks = (*tape)->next();
    if (!ticks || ticks->empty()) return;  // the replay has told what is wrong with it
    for (const Tick& tick : *ticks) {
      if (tick.symbol == wanted && tick.kind == TickKind::trade) around.take(tick);
    }
  }
}

}  // namespace

std::string why_of(const std::string& symbol, const Review& review, const ReviewInput& input,
                   const std::vector<std::string>& tapes) {
  std::vector<const Crossing*> crossings;
  for (const Crossing& one : review.crossings) {
    if (one.said.symbol == symbol) crossings.push_back(&one);
  }
  TradesByNotice trades;
  Around around(crossings, trades);
  for (const std::string& path : tapes) read_tape(path, symbol, around);
  std::string out;
  for (const Crossing* one : crossings)
    out += (out.empty() ? "" : "\n") + why_in_words(*one, input, trades[one->said.id]);
  return out;
}

}  // namespace brimwatch
