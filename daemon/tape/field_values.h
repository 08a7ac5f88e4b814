#pragma once
// Values of fields, eight bytes at a time. Each function reads the common forms and says false for all others, which the
// plain path then reads or refuses; what one of them reads is what the plain path would have read.
//
// Every function may read eight bytes from the field's start (times: up to 28), whatever its length.
#include <array>
#include <bit>
#include <cstdint>
#include <cstring>
#include <string_view>

#include "core/price.h"
#include "core/text/timestamp.h"
#include "core/tick.h"

namespace brimwatch::fields {

static_assert(std::endian::native == std::endian::little, "the first byte of a field is the lowest of its word");

constexpr std::uint64_t kOnes = 0x0101010101010101ULL;
constexpr std::uint64_t kHighs = 0x8080808080808080ULL;
constexpr std::array<std::uint64_t, 9> kFirstBytes{
    0, 0xFFULL, 0xFFFFULL, 0xFFFFFFULL, 0xFFFFFFFFULL, 0xFFFFFFFFFFULL, 0xFFFFFFFFFFFFULL, 0xFFFFFFFFFFFFFFULL, ~0ULL};
constexpr std::array<std::int64_t, 10> kPowers{1,       10,        100,        1'000,       10'000,
                                               100'000, 1'000'000, 10'000'000, 100'000'000, 1'000'000'000};

inline std::uint64_t load8(const char* at) {
  std::uint64_t word;
  std::memcpy(&word, at, sizeof word);
  return word;
}

/// Eight digit values (not characters), first one lowest, as one number; three multiplications for eight digits.
constexpr std::uint64_t join_digits(std::uint64_t word) {
  word = word * 10 + (word >> 8);
  return (((word & 0x000000FF000000FFULL) * 0x000F424000000064ULL) +
          (((word >> 16) & 0x000000FF000000FFULL) * 0x0000271000000001ULL)) >>
         32;
}

/// The first `count` (1 to 8) characters of a word as a number; false when one is not a digit.
inline bool digits8(std::uint64_t word, std::size_t count, std::uint64_t& value) {
  word = (word ^ (kOnes * '0')) << (8 * (8 - count));  // leading zeros in front
  value = join_digits(word);
  return (((word + kOnes * 0x76) | word) & kHighs) == 0;
}

/// Any number that is not negative.
bool long_decimal(std::string_view text, std::int64_t& micros);

/// A decimal number without sign, in millionths; at best of at most eight characters.
inline bool decimal(const char* at, std::size_t size, std::int64_t& micros) {
  if (size - 1 > 7) return long_decimal({at, size}, micros);
  const std::uint64_t word = load8(at) & kFirstBytes[size];
  const std::uint64_t no_dot = word ^ (kOnes * '.');
  const std::uint64_t zeros = (no_dot - kOnes) & ~no_dot & kHighs;          // exact up to the first hit
  const auto dot = static_cast<std::size_t>(std::countr_zero(zeros)) >> 3;  // 8 when there is none
  const std::uint64_t before = kFirstBytes[dot];
  const bool has_dot = dot < size;
  const std::size_t count = size - has_dot;
  const std::size_t decimals = has_dot ? size - 1 - dot : 0;
  if (count == 0 || decimals > 6) return false;
  std::uint64_t value;
  const bool good = digits8((word & before) | ((word >> 8) & ~before), count, value);
  micros = static_cast<std::int64_t>(value) * kPowers[6 - decimals];
  return good;
}

/// Up to nine digits behind the point of a second, as nanoseconds.
inline bool fraction(const char* at, std::size_t count, std::int64_t& nanos) {
  if (count - 1 > 8) return false;
  std::uint64_t value;
  const std::size_t first = count < 8 ? count : 8;
  bool good = digits8(load8(at), first, value);
  nanos = static_cast<std::int64_t>(value) * kPowers[9 - first];
  if (count == 9) {
    const unsigned last = static_cast<unsigned char>(at[8]) - unsigned{'0'};
    good &= last <= 9;
    nanos += last;
  }
  return good;
}

/// The text of the last minute and what it came to. Rows of a tape come in order of time, so that most of a time's text
/// is that of the row before.
class TimeReader {
 public:
  bool read(const char* at, std::size_t size, Timestamp& time) {
    const std::size_t body = size - zone_size_;  // "2026-11-25T10:42:07.25"; huge when the text is shorter than the zone
    if (load8(at) != day_ || load8(at + 8) != minute_ || body - 19 > 10 ||
        (load8(at + body) & kFirstBytes[zone_size_]) != zone_) {
      return read_anew({at, size}, time);
    }
    const std::uint64_t rest = load8(at + 16);  // ":07.2512"
    std::int64_t nanos = 0;
    const std::uint64_t tens = (rest >> 8 & 0xFF) - '0', units = (rest >> 16 & 0xFF) - '0';
    const std::uint64_t second = tens * 10 + units;
    bool good = (rest & 0xFF) == ':' && tens <= 5 && units <= 9;
    if (body > 19) good &= (rest >> 24 & 0xFF) == '.' && fraction(at + 20, body - 20, nanos);
    if (!good) return read_anew({at, size}, time);
    time = Timestamp{base_ + static_cast<std::int64_t>(second) * kSecond + nanos};
    return true;
  }

 private:
  /// By the plain reading, and takes note of the minute.
  bool read_anew(std::string_view text, Timestamp& time);

  std::uint64_t day_ = 0, minute_ = 0, zone_ = 0;  ///< "2026-11-", "25T10:42", "-05:00"
  std::size_t zone_size_ = 0;
  std::int64_t base_ = 0;  ///< start of that minute
};

/// Up to eight characters with blanks between the codes, as the tapes themselves write them.
bool spaced_codes(std::string_view text, Conditions& conditions);

/// Up to eight condition codes, at best without blanks.
inline bool codes(const char* at, std::size_t size, Conditions& conditions) {
  if (size > 8) return false;
  const std::uint64_t used = kFirstBytes[size];
  const std::uint64_t word = load8(at) & used;
  const std::uint64_t filled = word | (~used & (kOnes * '@'));
  const std::uint64_t low = (filled - kOnes * '!') & ~filled;  // below '!'
  const std::uint64_t high = filled | (filled + kOnes);        // above '~'
  std::memcpy(conditions.codes.data(), &word, sizeof word);
  return ((low | high) & kHighs) == 0 || spaced_codes({at, size}, conditions);
}

}  // namespace brimwatch::fields
