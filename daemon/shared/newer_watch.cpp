#include "shared/newer_watch.h"

#include <tuple>

namespace brimwatch {

bool is_newer(const WatchState& one, const WatchState& other) {
  const auto heard = [](const WatchState& state) {
    const std::vector<WatchPast> past = unpack(state.past);
    return std::tuple(state.day, state.withdrawn, past.empty() ? Timestamp{} : past.front().by.time);
  };
  return heard(one) > heard(other);
}

}  // namespace brimwatch
