#include "shared/newer_watch.h"

#include <tuple>

namespace brimwatch {

Timestamp last_heard(const WatchState& state) {
  const std::vector<WatchPast> past = unpack(state.past);
  return past.empty() ? Timestamp{} : past.front().by.time;
}

bool is_newer(const WatchState& one, const WatchState& other) {
  const auto heard = [](const WatchState& state) { return std::tuple(state.day, state.withdrawn, last_heard(state)); };
  return heard(one) > heard(other);
}

}  // namespace brimwatch
