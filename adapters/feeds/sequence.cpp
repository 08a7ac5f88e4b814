#include "adapters/feeds/sequence.h"

#include <utility>

#include "adapters/feeds/decoder.h"

namespace brimwatch {

SequenceGuard::Gap SequenceGuard::note(Last& last, std::uint64_t sequence, Timestamp time) {
  // Several messages of one frame may share a number; only a step of more than one has lost something.
  // Before the first tick nothing was seen, so nothing is missing.
  const Gap gap{last.time.is_set() && sequence > last.sequence + 1, last.time};
  // Going back a long way is a source that began anew; a little is a message that comes late or twice.
  constexpr std::uint64_t kReorderMost = 1000;
  if (sequence > last.sequence || last.sequence - sequence > kReorderMost) last = {sequence, time};
  return gap;
}

SequenceGuard::Gap SequenceGuard::on_message(SymbolId symbol, std::uint64_t sequence, Timestamp time) {
  if (sequence == 0) return {};
  const std::size_t at = by_symbol_ ? symbol : 0;
  if (at >= last_.size()) last_.resize(at + 1);
  const Gap gap = note(last_[at], sequence, time);
  const Gap open = std::exchange(open_, Gap{});
  return open.found ? open : gap;
}

void SequenceGuard::on_passed(std::uint64_t sequence) {
  if (by_symbol_ || sequence == 0) return;
  if (last_.empty()) last_.resize(1);
  const Gap gap = note(last_[0], sequence, last_[0].time);
  if (gap.found && !open_.found) open_ = gap;
}

std::uint64_t mark_gaps(Decoded& decoded, std::size_t first, SequenceGuard& guard) {
  std::uint64_t gaps = 0;
  auto passed = decoded.passed.begin();
  const auto pass = [&](std::size_t before) {
    for (; passed != decoded.passed.end() && passed->before <= before; ++passed) {
      if (passed->before >= first) guard.on_passed(passed->sequence);
    }
  };
  for (std::size_t i = first; i < decoded.sequences.size(); ++i) {
    pass(i - gaps);
    const Tick tick = decoded.ticks[i];
    const auto gap = guard.on_message(tick.symbol, decoded.sequences[i], tick.time);
    if (!gap.found) continue;
    ++gaps;
    Tick hole;
    hole.kind = TickKind::hole;
    hole.symbol = guard.by_symbol() ? tick.symbol : kNoSymbol;
    hole.time = gap.since;
    hole.received = tick.time;
    const auto at = static_cast<std::ptrdiff_t>(i);
    decoded.ticks.insert(decoded.ticks.begin() + at, hole);
    decoded.sequences.insert(decoded.sequences.begin() + at, 0);
    ++i;
  }
  pass(decoded.ticks.size());
  return gaps;
}

}  // namespace brimwatch
