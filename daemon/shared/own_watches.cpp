#include "shared/own_watches.h"

#include <utility>

#include "shared/newer_watch.h"

namespace brimwatch {
namespace {

OwnWatches::Key key_of(const WatchState& state) { return {state.symbol, state.pivot}; }

}  // namespace

void OwnWatches::note(const WatchState& state, Nanos now) {
  Own& own = own_[key_of(state)];
  own.state = state, own.at = now;
}

void OwnWatches::mark_as_brought(const Key& key) {
  const auto own = own_.find(key);
  if (own != own_.end()) own->second.brought = true;
}

const WatchState* OwnWatches::find(const Key& key) const {
  const auto own = own_.find(key);
  return own == own_.end() ? nullptr : &own->second.state;
}

bool OwnWatches::knows(const WatchState& state) const {
  const auto theirs = view_.watches().find(key_of(state));
  const WatchState* const ours = find(key_of(state));
  return (theirs != view_.watches().end() && !is_newer(state, theirs->second)) ||
         (ours != nullptr && !is_newer(state, *ours));
}

void OwnWatches::look_at_start(Nanos now) {
  for (WatchState& state : std::exchange(at_start_, {})) {
    const Key key = key_of(state);
    const auto theirs = view_.watches().find(key);
    const bool in_log = theirs != view_.watches().end();
    if (in_log ? state != theirs->second : !state.past.empty()) own_.try_emplace(key, Own{std::move(state), now});
  }
}

std::vector<WatchState> OwnWatches::take_over(const std::vector<WatchState>& changed, Nanos now) {
  look_at_start(now);
  std::vector<WatchState> taken;
  for (const WatchState& state : changed) {
    put_aside_.erase(key_of(state));
    const WatchState* const ours = find(key_of(state));
    if (ours != nullptr && is_newer(*ours, state)) continue;
    own_.erase(key_of(state));
    taken.push_back(state);
  }
  return taken;
}

void OwnWatches::put_all_aside() {
  for (const auto& [key, state] : view_.watches()) put_aside_.insert(key);
}

/// As the log has them, and this engine not, as far as it knows nothing newer.
std::map<OwnWatches::Key, WatchState> OwnWatches::not_taken_over(const IsWaiting& is_waiting) {
  std::map<Key, WatchState> found;
  for (const Key& key : std::exchange(put_aside_, {})) {
    const auto theirs = view_.watches().find(key);
    const WatchState* const owed = owed_.watch(key);
    if (theirs == view_.watches().end() || is_waiting(key)) continue;
    if (owed == nullptr || is_newer(theirs->second, *owed)) found.insert(*theirs);
  }
  return found;
}

std::vector<WatchState> OwnWatches::take_over_aside(const IsWaiting& is_waiting) {
  std::vector<WatchState> taken;
  for (auto& [key, state] : not_taken_over(is_waiting)) {
    const WatchState* const ours = find(key);
    if (ours != nullptr && !is_newer(state, *ours)) continue;
    own_.erase(key);
    taken.push_back(state);
  }
  return taken;
}

/// Whether a watch stays as this engine has it. Sides and counts are those of the one before; but what this engine has
/// heard when that one led no more, in the log, is newer, and stays. So it does where both count the same: what is
/// different here (a watch that is armed again) the one before had not written yet.
bool OwnWatches::stays(const Own& own, const Lead& lead) const {
  const auto found = view_.watches().find(key_of(own.state));
  if (found == view_.watches().end() || lead.told.contains(found->first)) return true;
  const WatchState& theirs = found->second;
  if (is_newer(theirs, own.state)) return false;
  const bool agrees = theirs.day == own.state.day && theirs.counts == own.state.counts;
  return lead.was_alone || own.brought || agrees || (own.at >= lead.since && is_newer(own.state, theirs));
}

OwnWatches::Decided OwnWatches::decide(const Lead& lead, Nanos now) {
  look_at_start(now);
  std::map<Key, WatchState> theirs = not_taken_over(lead.is_waiting);
  Decided decided;
  for (auto& [key, own] : std::exchange(own_, {})) {
    if (stays(own, lead)) decided.ours.push_back(std::move(own.state)), theirs.erase(key);
    else theirs[key] = view_.watches().at(key);
  }
  for (auto& [key, state] : theirs) decided.theirs.push_back(std::move(state));
  return decided;
}

}  // namespace brimwatch
