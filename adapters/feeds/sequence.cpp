#include "adapters/feeds/sequence.h"

#include <utility>

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

}  // namespace brimwatch
