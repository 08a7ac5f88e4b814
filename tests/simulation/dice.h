#pragma once
// All chance of a simulation comes from one seed; each part draws from a stream of its own, so that a change in one does
// not shift the others.
#include <cmath>
#include <cstdint>
#include <map>
#include <random>
#include <string>

#include "core/text/timestamp.h"

namespace brimwatch::simulation {

class Dice {
 public:
  Dice(std::uint64_t seed, const char* part) {
    for (; *part != 0; ++part) seed = (seed ^ static_cast<unsigned char>(*part)) * 0x100000001b3U;
    random_.seed(seed);
  }
  [[nodiscard]] std::uint64_t below(std::uint64_t sides) { return random_() % sides; }
  [[nodiscard]] double unit() { return static_cast<double>(random_() >> 11) * 0x1.0p-53; }
  [[nodiscard]] bool chance(double odds) { return unit() < odds; }
  [[nodiscard]] Nanos span(Nanos least, Nanos most) {
    return least + static_cast<Nanos>(unit() * static_cast<double>(most - least));
  }
  /// Short ones far more often than long ones: the logarithm is even.
  [[nodiscard]] Nanos log_span(Nanos least, Nanos most) {
    const double from = std::log(static_cast<double>(least)), to = std::log(static_cast<double>(most));
    return static_cast<Nanos>(std::exp(from + unit() * (to - from)));
  }
  /// Time to the next of events that come `per_day` times in a session of six and a half hours.
  [[nodiscard]] Nanos wait(double per_day) {
    return static_cast<Nanos>(-std::log(1 - unit()) / per_day * 23'400 * static_cast<double>(kSecond));
  }

 private:
  std::mt19937_64 random_;
};

/// How often each fault was injected, and each thing observed.
using Tally = std::map<std::string, std::uint64_t>;

}  // namespace brimwatch::simulation
