#include "live/ending.h"

#include <utility>

namespace brimwatch {
namespace {

constexpr int kQuietRounds = 3;

}  // namespace

Ending::Ending(House& house, World world) : house_(house), world_(std::move(world)), begun_(world_.steady()) {
  house_.begin_end();
}

bool Ending::step() {
  if (part_ == Part::over) return true;
  if (part_ == Part::last_answers) {
    house_.note_answers();
    kept_all_ = world_.close_journal(kJournal);
    left_behind_ = left_behind_ || !kept_all_;
    house_.end();
    part_ = Part::over;
    return true;
  }
  go_on();
  return false;
}

/// What a channel has said must be in the journal before that is closed, or it would be sent again: so there is a round
/// between the last wait for a channel and the end.
void Ending::go_on() {
  const Nanos spent = world_.steady() - begun_;
  if (part_ == Part::sending && spent >= kSending) part_ = Part::in_hand;
  if (part_ == Part::sending) house_.drain();
  else house_.note_answers();
  quiet_rounds_ = house_.is_quiet() ? quiet_rounds_ + 1 : 0;
  if (quiet_rounds_ < kQuietRounds && spent < kSending + kInHand) return;
  left_behind_ = !house_.end_channels();
  part_ = Part::last_answers;
}

}  // namespace brimwatch
