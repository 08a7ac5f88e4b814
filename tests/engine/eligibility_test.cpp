// The sale conditions against the published matrices: CTS Pillar Multicast Output specification v2.11b and UTP Data Feed
// Services specification v3.0c section 3.14.2, both through second-hand transcriptions that agree with each other.
// Columns here: code, consolidated last, consolidated high/low, volume. Y yes, N no, ? to be determined, and the
// specifications' footnotes by their numbers.
#include "engine/eligibility.h"

#include <gtest/gtest.h>

#include <array>
#include <string_view>

namespace brimwatch {
namespace {

struct Row {
  char code, last, high_low, volume;
};

constexpr std::array<Row, 26> kCts{
    {{' ', 'Y', 'Y', 'Y'}, {'B', 'N', 'N', 'Y'}, {'C', 'N', 'N', 'Y'}, {'E', 'Y', 'Y', 'Y'}, {'F', 'Y', 'Y', 'Y'},
     {'H', 'N', 'N', 'Y'}, {'I', 'N', 'N', 'Y'}, {'K', 'Y', 'Y', 'Y'}, {'L', '3', 'Y', 'Y'}, {'M', 'N', 'N', 'N'},
     {'N', 'N', 'N', '?'}, {'O', 'Y', 'Y', 'Y'}, {'P', '2', 'Y', 'Y'}, {'Q', 'N', 'N', 'N'}, {'R', 'N', 'N', 'Y'},
     {'T', 'N', 'N', 'Y'}, {'U', 'N', 'N', 'Y'}, {'V', 'N', 'N', 'Y'}, {'X', 'Y', 'Y', 'Y'}, {'Z', '2', 'Y', 'Y'},
     {'4', '2', 'Y', 'Y'}, {'5', 'Y', 'Y', 'Y'}, {'6', 'Y', 'Y', 'Y'}, {'7', 'N', 'N', 'Y'}, {'8', 'N', 'N', '?'},
     {'9', 'Y', 'Y', 'N'}}};
constexpr std::array<Row, 33> kUtdf{
    {{'@', 'Y', 'Y', 'Y'}, {'A', 'Y', 'Y', 'Y'}, {'B', 'Y', 'Y', 'Y'}, {'C', 'N', 'N', 'Y'}, {'D', 'Y', 'Y', 'Y'},
     {'E', '?', '?', '?'}, {'F', 'Y', 'Y', 'Y'}, {'G', '1', 'Y', 'Y'}, {'H', 'N', 'N', 'Y'}, {'I', 'N', 'N', 'Y'},
     {'K', 'Y', 'Y', 'Y'}, {'L', '2', 'Y', 'Y'}, {'M', 'N', 'N', 'N'}, {'N', 'N', 'N', '?'}, {'O', 'Y', 'Y', 'Y'},
     {'P', '1', 'Y', 'Y'}, {'Q', 'N', 'N', 'N'}, {'R', 'N', 'N', 'Y'}, {'S', 'Y', 'Y', 'Y'}, {'T', 'N', 'N', 'Y'},
     {'U', 'N', 'N', 'Y'}, {'V', 'N', 'N', 'Y'}, {'W', 'N', 'N', 'Y'}, {'X', 'Y', 'Y', 'Y'}, {'Y', 'Y', 'Y', 'Y'},
     {'Z', '1', 'Y', 'Y'}, {'1', 'Y', 'Y', 'Y'}, {'4', '1', 'Y', 'Y'}, {'5', 'Y', 'Y', 'Y'}, {'6', 'Y', 'Y', 'Y'},
     {'7', 'N', 'N', 'Y'}, {'8', '?', '?', '?'}, {'9', 'Y', 'Y', 'N'}}};

/// What keeps a trade from a column; what kind of trade it is is looked at elsewhere.
std::uint16_t bits(std::string_view codes, Tape tape) {
  return bars_of(Conditions::of(codes), condition_table(tape)) & static_cast<std::uint16_t>(~(kAuctionPrint | kOddLot));
}

std::uint16_t last_bits(char word, Tape tape) {
  switch (word) {
    case 'Y':
      return 0;
    case '1':
      return kLastIfFirst;
    case '2':
      return tape == Tape::cts ? kLastIfFirst : kLastUntilLate;
    case '3':
      return kLastIfSameMarket;
    default:
      return kNoLast;
  }
}

template <std::size_t N>
void expect_rows(const std::array<Row, N>& rows, Tape tape) {
  constexpr std::uint16_t kLastBits = kNoLast | kLastIfFirst | kLastIfSameMarket | kLastUntilLate;
  for (const Row& row : rows) {
    const std::uint16_t found = bits({&row.code, 1}, tape);
    EXPECT_EQ(found & kLastBits, last_bits(row.last, tape)) << row.code;
    EXPECT_EQ((found & kNoHighLow) == 0, row.high_low == 'Y') << row.code;
    EXPECT_EQ((found & kNoVolume) == 0, row.volume != 'N') << row.code << ": what is not settled adds volume";
    EXPECT_EQ(found & kUnknownCode, 0) << row.code;
  }
}

TEST(Eligibility, every_code_of_tapes_a_and_b_is_as_published) { expect_rows(kCts, Tape::cts); }

TEST(Eligibility, every_code_of_tape_c_is_as_published) { expect_rows(kUtdf, Tape::utdf); }

TEST(Eligibility, codes_that_are_in_no_matrix_count_as_volume_only_and_are_known_as_unknown) {
  int unknown = 0;
  for (int c = 1; c < 256; ++c) {
    const char code = static_cast<char>(c);
    const std::uint16_t found = condition_table(Tape::utdf)[static_cast<unsigned char>(code)];
    if (!(found & kUnknownCode)) continue;
    ++unknown;
    EXPECT_EQ(found & (kNoLast | kNoHighLow | kNoVolume), kNoLast | kNoHighLow) << c;
  }
  EXPECT_EQ(unknown, 255 - 33 - 1) << "33 codes and the space";
}

TEST(Eligibility, the_strictest_code_wins_in_each_column) {
  EXPECT_EQ(bits("@", Tape::utdf), 0);
  EXPECT_EQ(bits("@I", Tape::utdf), kNoLast | kNoHighLow);
  EXPECT_EQ(bits("@4", Tape::utdf), kLastIfFirst);
  EXPECT_EQ(bits("@4I", Tape::utdf), kLastIfFirst | kNoLast | kNoHighLow);
  EXPECT_EQ(bits("FTI", Tape::cts), kNoLast | kNoHighLow);
  EXPECT_EQ(bits("FM", Tape::cts), kNoLast | kNoHighLow | kNoVolume);
}

TEST(Eligibility, b_differs_between_the_tapes_and_the_at_sign_says_which) {
  EXPECT_EQ(bits("B", Tape::cts), kNoLast | kNoHighLow);
  EXPECT_EQ(bits("B", Tape::utdf), 0);
  EXPECT_EQ(bits("@B", Tape::cts), 0) << "only Tape C writes an at sign";
}

}  // namespace
}  // namespace brimwatch
