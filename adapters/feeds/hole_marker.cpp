#include "adapters/feeds/hole_marker.h"

#include <algorithm>
#include <utility>

namespace brimwatch {

HoleMarker::Ear& HoleMarker::ear_of(SymbolId symbol) {
  if (symbol >= symbols_.size()) symbols_.resize(symbol + 1);
  return symbols_[symbol];
}

void HoleMarker::hear(const Tick& tick) {
  feed_.heard = std::max(feed_.heard, tick.time);
  Ear& ear = ear_of(tick.symbol);
  ear.heard = std::max(ear.heard, tick.time);
}

/// Before the first tick nothing was seen, so nothing is missing.
void HoleMarker::note_loss(SymbolId symbol) {
  Ear& ear = symbol == kNoSymbol ? feed_ : ear_of(symbol);
  if (ear.lost_since.is_set() || !ear.heard.is_set()) return;
  ear.lost_since = ear.heard;
  ++losses_;
}

/// What was passed over or lost before the tick of that number.
void HoleMarker::note_until(const Decoded& decoded, std::size_t tick, std::size_t& passed, std::size_t& lost) {
  for (; passed < decoded.passed.size() && decoded.passed[passed].before <= tick; ++passed)
    numbers_.on_passed(decoded.passed[passed].sequence);
  for (; lost < decoded.lost.size() && decoded.lost[lost].before <= tick; ++lost) note_loss(decoded.lost[lost].symbol);
}

void HoleMarker::put_hole(SymbolId symbol, Timestamp since, Timestamp until, Decoded& decoded) const {
  Tick hole;
  hole.kind = TickKind::hole;
  hole.symbol = symbol;
  hole.time = since;
  hole.received = std::max(since, until);
  decoded.ticks.push_back(hole);
}

/// Holes before the tick, where any are due; whether the numbering has a gap there.
bool HoleMarker::put_holes_before(const Tick& tick, std::uint64_t number, Decoded& decoded) {
  const auto gap = numbers_.on_message(tick.symbol, number, tick.time);
  if (gap.found) put_hole(numbers_.by_symbol() ? tick.symbol : kNoSymbol, gap.since, tick.time, decoded);
  if (losses_ == 0) return gap.found;
  for (auto [symbol, ear] : {std::pair(kNoSymbol, &feed_), std::pair(tick.symbol, &ear_of(tick.symbol))}) {
    if (!ear->lost_since.is_set()) continue;
    --losses_;
    put_hole(symbol, std::exchange(ear->lost_since, {}), tick.time, decoded);
  }
  return gap.found;
}

std::uint64_t HoleMarker::mark(Decoded& decoded, std::size_t first) {
  const bool plain = decoded.sequences.empty() && decoded.passed.empty() && decoded.lost.empty() && losses_ == 0;
  if (plain) {
    for (std::size_t i = first; i < decoded.ticks.size(); ++i) hear(decoded.ticks[i]);
    return 0;
  }
  const auto begin = static_cast<std::ptrdiff_t>(first);
  const std::vector<Tick> fresh(decoded.ticks.begin() + begin, decoded.ticks.end());
  decoded.sequences.resize(decoded.ticks.size());
  const std::vector<std::uint64_t> numbers(decoded.sequences.begin() + begin, decoded.sequences.end());
  decoded.ticks.resize(first);
  std::uint64_t gaps = 0;
  std::size_t passed = 0, lost = 0;
  for (std::size_t i = 0; i < fresh.size(); ++i) {
    note_until(decoded, first + i, passed, lost);
    gaps += put_holes_before(fresh[i], numbers[i], decoded) ? 1 : 0;
    hear(fresh[i]);
    decoded.ticks.push_back(fresh[i]);
    decoded.sequences.resize(decoded.ticks.size());
    decoded.sequences.back() = numbers[i];
  }
  note_until(decoded, SIZE_MAX, passed, lost);
  decoded.passed.clear();
  decoded.lost.clear();
  return gaps;
}

}  // namespace brimwatch
