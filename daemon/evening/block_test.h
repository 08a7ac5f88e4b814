#pragma once
// Is a difference between two sets of rules more than chance? Pure and deterministic.
//
// Crossings of one day move together, outcomes of neighbouring days overlap, and a rule may open and shut with the market
// (a gate). So neither crossings nor days are independent, and making days change places between the rules calls chance
// real where rules act in stretches. Blocks of twice the horizon of the outcome are nearly independent: each block's
// contribution to the difference of the means is one observation, and Student's t is taken over the blocks. It is a
// cluster-robust error of a difference of means (Liang and Zeger, Biometrika 1986), small samples by t with K - 1 degrees
// of freedom; that a crossing told by both rules counts on both sides needs no care of its own.
#include <optional>
#include <span>
#include <vector>

namespace brimwatch {

/// A sum of values and how many there were.
struct Part {
  double sum = 0;
  int count = 0;
};

/// One session's part of a measure under both sets of rules; sessions without a crossing have empty parts.
struct SessionPair {
  Part a, b;
};

/// Mean of all b - mean of all a; empty when either side has none.
[[nodiscard]] std::optional<double> difference_of(std::span<const SessionPair> sessions);

constexpr int kLeastBlocks = 6;  ///< with fewer, nothing is said of chance

struct BlockTest {
  double difference = 0;     ///< mean b - mean a
  double error = 0;          ///< its standard error
  int blocks = 0;            ///< with a crossing in them
  double p = 1;              ///< two-sided
  double low = 0, high = 0;  ///< 95 % interval of the difference
};

/// `sessions`: every session of the span, in order. `horizon`: sessions that an outcome takes to come. Blocks are
/// 2 x horizon sessions; what is left at the end joins the last one. Empty when either side has nothing, or fewer than
/// kLeastBlocks blocks have a crossing.
[[nodiscard]] std::optional<BlockTest> block_test(std::span<const SessionPair> sessions, int horizon);

/// How many blocks have a crossing in them.
[[nodiscard]] int blocks_of(std::span<const SessionPair> sessions, int horizon);

/// Holm's correction (1979): with several measures looked at together, some p is small by chance. In the given order.
[[nodiscard]] std::vector<double> holm(std::span<const double> p);

}  // namespace brimwatch
