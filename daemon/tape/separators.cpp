#include "tape/separators.h"

#include <bit>
#include <cstring>
#if defined(__x86_64__)
#include <immintrin.h>
#endif

namespace brimwatch {
namespace {

constexpr std::size_t kStep = 64;  ///< bytes that make one mask

/// The first `count` bits, for the step at the end of the text.
constexpr std::uint64_t low_bits(std::size_t count) { return count >= 64 ? ~0ULL : (1ULL << count) - 1; }

std::uint32_t* write_places(std::uint64_t mask, std::uint32_t base, std::uint32_t* out) {
  for (; mask != 0; mask &= mask - 1) *out++ = base + static_cast<std::uint32_t>(std::countr_zero(mask));
  return out;
}

/// One bit a byte of the 64 at `text`, eight bytes at a time.
std::uint64_t mask_portable(const char* text) {
  std::uint64_t mask = 0;
  for (std::size_t i = 0; i < kStep; ++i) {
    mask |= static_cast<std::uint64_t>(text[i] == ',' || text[i] == '\n' || text[i] == '"') << i;
  }
  return mask;
}

}  // namespace

std::size_t find_separators_portable(const char* text, std::size_t size, std::uint32_t* places) {
  std::uint32_t* out = places;
  for (std::size_t i = 0; i < size; i += kStep) {
    out = write_places(mask_portable(text + i) & low_bits(size - i), static_cast<std::uint32_t>(i), out);
  }
  return static_cast<std::size_t>(out - places);
}

#if defined(__x86_64__)

namespace {

std::uint64_t mask_sse2(const char* text) {
  std::uint64_t mask = 0;
  for (int part = 0; part < 4; ++part) {
    const __m128i bytes = _mm_loadu_si128(reinterpret_cast<const __m128i*>(text + 16 * part));
    const __m128i hits =
        _mm_or_si128(_mm_or_si128(_mm_cmpeq_epi8(bytes, _mm_set1_epi8(',')), _mm_cmpeq_epi8(bytes, _mm_set1_epi8('\n'))),
                     _mm_cmpeq_epi8(bytes, _mm_set1_epi8('"')));
    mask |= static_cast<std::uint64_t>(static_cast<unsigned>(_mm_movemask_epi8(hits))) << (16 * part);
  }
  return mask;
}

#define BRIMWATCH_AVX2 __attribute__((target("avx2,bmi,popcnt")))

BRIMWATCH_AVX2 inline std::uint64_t mask_avx2(const char* text) {
  const auto half = [](const char* at) __attribute__((target("avx2,bmi,popcnt"), always_inline)) {
    const __m256i bytes = _mm256_loadu_si256(reinterpret_cast<const __m256i*>(at));
    const __m256i hits = _mm256_or_si256(_mm256_or_si256(_mm256_cmpeq_epi8(bytes, _mm256_set1_epi8(',')),
                                                         _mm256_cmpeq_epi8(bytes, _mm256_set1_epi8('\n'))),
                                         _mm256_cmpeq_epi8(bytes, _mm256_set1_epi8('"')));
    return static_cast<std::uint64_t>(static_cast<unsigned>(_mm256_movemask_epi8(hits)));
  };
  return half(text) | half(text + 32) << 32;
}

/// Eight places at once whether they are there or not: what is too many is written over by the next ones.
BRIMWATCH_AVX2 inline std::uint32_t* write_places_avx2(std::uint64_t mask, std::uint32_t base, std::uint32_t* out) {
  const auto count = static_cast<std::size_t>(_mm_popcnt_u64(mask));
  for (std::size_t done = 0; done < count; done += 8) {
    for (std::size_t i = 0; i < 8; ++i) {
      out[done + i] = base + static_cast<std::uint32_t>(_tzcnt_u64(mask));
      mask = _blsr_u64(mask);
    }
  }
  return out + count;
}

}  // namespace

std::size_t find_separators_sse2(const char* text, std::size_t size, std::uint32_t* places) {
  std::uint32_t* out = places;
  for (std::size_t i = 0; i < size; i += kStep) {
    out = write_places(mask_sse2(text + i) & low_bits(size - i), static_cast<std::uint32_t>(i), out);
  }
  return static_cast<std::size_t>(out - places);
}

BRIMWATCH_AVX2 std::size_t find_separators_avx2(const char* text, std::size_t size, std::uint32_t* places) {
  std::uint32_t* out = places;
  for (std::size_t i = 0; i < size; i += kStep) {
    out = write_places_avx2(mask_avx2(text + i) & low_bits(size - i), static_cast<std::uint32_t>(i), out);
  }
  return static_cast<std::size_t>(out - places);
}

bool has_avx2() {
  return __builtin_cpu_supports("avx2") && __builtin_cpu_supports("bmi") && __builtin_cpu_supports("popcnt");
}

FindSeparators best_find_separators() { return has_avx2() ? find_separators_avx2 : find_separators_sse2; }

#else

FindSeparators best_find_separators() { return find_separators_portable; }

#endif

}  // namespace brimwatch
