#pragma once
// Finds the bytes that part a CSV text into fields and rows, many at a time.
#include <cstddef>
#include <cstdint>

namespace brimwatch {

/// Writes the places of every ',', '\n' and '"' in text[0..size) to `places`, ascending, and returns how many there are.
/// Up to 64 bytes behind the text are read (and ignored); `places` has room for size + 64.
using FindSeparators = std::size_t (*)(const char* text, std::size_t size, std::uint32_t* places);

/// The fastest way on this processor; all ways give the same.
[[nodiscard]] FindSeparators best_find_separators();

/// Each way by itself, for tests and benchmarks.
std::size_t find_separators_portable(const char* text, std::size_t size, std::uint32_t* places);
#if defined(__x86_64__)
std::size_t find_separators_sse2(const char* text, std::size_t size, std::uint32_t* places);
/// Only where the processor has AVX2, BMI and POPCNT.
std::size_t find_separators_avx2(const char* text, std::size_t size, std::uint32_t* places);
[[nodiscard]] bool has_avx2();
#endif

}  // namespace brimwatch
