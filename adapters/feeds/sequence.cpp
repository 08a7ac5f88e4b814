#include "adapters/feeds/sequence.h"

namespace brimwatch {

SequenceGuard::Gap SequenceGuard::on_message(SymbolId symbol, std::uint64_t sequence, Timestamp time) {
  if (sequence == 0) return {};
  const std::size_t at = by_symbol_ ? symbol : 0;
  if (at >= last_.size()) last_.resize(at + 1);
  Last& last = last_[at];
  // Several messages of one frame may share a number; only a step of more than one has lost something.
  const Gap gap{last.sequence != 0 && sequence > last.sequence + 1, last.time};
  // Going back a long way is a source that began anew; a little is a message that comes late or twice.
  constexpr std::uint64_t kReorderMost = 1000;
  if (sequence > last.sequence || last.sequence - sequence > kReorderMost) last = {sequence, time};
  return gap;
}

}  // namespace brimwatch
