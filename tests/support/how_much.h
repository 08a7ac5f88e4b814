#pragma once
// How long a test hunts: what a daily run has time for, or what scripts/faults asks for.
#include <cstdint>
#include <cstdlib>

namespace brimwatch::test {

/// As many as BRIMWATCH_SEEDS says.
inline std::uint32_t seeds_wanted(std::uint32_t daily) {
  const char* const more = std::getenv("BRIMWATCH_SEEDS");
  return more != nullptr ? static_cast<std::uint32_t>(std::strtoul(more, nullptr, 10)) : daily;
}

/// With BRIMWATCH_ALL at every place; else at a sample of them.
inline bool everywhere() { return std::getenv("BRIMWATCH_ALL") != nullptr; }

}  // namespace brimwatch::test
