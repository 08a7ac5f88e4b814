#include "engine/departed.h"

#include <algorithm>

namespace brimwatch {
namespace {

bool has_told(const WatchState& state) {
  return std::any_of(state.counts.begin(), state.counts.end(), [](auto count) { return count > 0; });
}

}  // namespace

void Departed::leave(WatchState state, bool dirty) {
  if (state.day == Date{} || (all_.size() >= kMost && !has_told(state))) return;
  std::pair key(state.symbol, state.pivot);
  all_.insert_or_assign(std::move(key), One{std::move(state), dirty});
}

std::vector<WatchState> Departed::come_back(const std::function<bool(const WatchState&)>& is_listed) {
  std::vector<WatchState> out;
  for (auto at = all_.begin(); at != all_.end();) {
    if (!is_listed(at->second.state)) {
      ++at;
      continue;
    }
    WatchState& state = out.emplace_back(std::move(at->second.state));
    state.muted_until = {};
    state.muted_under = false;
    state.confirm_trades = 0;
    state.confirm_opened_over = false;
    at = all_.erase(at);
  }
  return out;
}

void Departed::take_changed(std::vector<WatchState>& to) {
  for (auto& [key, one] : all_) {
    if (std::exchange(one.dirty, false)) to.push_back(one.state);
  }
}

void Departed::add_all(std::vector<WatchState>& to) const {
  for (const auto& [key, one] : all_) to.push_back(one.state);
}

}  // namespace brimwatch
