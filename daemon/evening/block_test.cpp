#include "evening/block_test.h"

#include <algorithm>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <numeric>

namespace brimwatch {
namespace {

void add(Part& to, const Part& part) {
  to.sum += part.sum;
  to.count += part.count;
}

double mean_of(const Part& part) { return part.sum / part.count; }

SessionPair total_of(std::span<const SessionPair> sessions) {
  SessionPair out;
  for (const SessionPair& one : sessions) add(out.a, one.a), add(out.b, one.b);
  return out;
}

/// The sessions put together in blocks; those without a crossing say nothing and are left out.
std::vector<SessionPair> in_blocks(std::span<const SessionPair> sessions, int horizon) {
  const std::size_t length = 2 * static_cast<std::size_t>(std::max(horizon, 1));
  const std::size_t count = std::max<std::size_t>(sessions.size() / length, 1);
  std::vector<SessionPair> out;
  for (std::size_t block = 0; block < count; ++block) {
    const std::size_t from = block * length, to = block + 1 == count ? sessions.size() : from + length;
    const SessionPair sum = total_of(sessions.subspan(from, to - from));
    if (sum.a.count > 0 || sum.b.count > 0) out.push_back(sum);
  }
  return out;
}

/// Standard error of the difference from what each block adds to it, with outcomes taken from `mean_a` and `mean_b`.
double error_about(const std::vector<SessionPair>& blocks, const SessionPair& total, double mean_a, double mean_b) {
  double squares = 0;
  for (const SessionPair& block : blocks) {
    squares += std::pow(
        (block.b.sum - block.b.count * mean_b) / total.b.count - (block.a.sum - block.a.count * mean_a) / total.a.count,
        2);
  }
  const auto count = static_cast<double>(blocks.size());
  return std::sqrt(count / (count - 1) * squares);
}

/// Where all outcomes of each side are alike, their own means show no error; about the mean of both they do.
double error_of(const std::vector<SessionPair>& blocks, const SessionPair& total) {
  const double own = error_about(blocks, total, mean_of(total.a), mean_of(total.b));
  if (own > 0) return own;
  const double both = (total.a.sum + total.b.sum) / (total.a.count + total.b.count);
  return error_about(blocks, total, both, both);
}

}  // namespace

std::optional<double> difference_of(std::span<const SessionPair> sessions) {
  const SessionPair total = total_of(sessions);
  if (total.a.count == 0 || total.b.count == 0) return std::nullopt;
  return mean_of(total.b) - mean_of(total.a);
}

int blocks_of(std::span<const SessionPair> sessions, int horizon) {
  return static_cast<int>(in_blocks(sessions, horizon).size());
}

std::optional<BlockTest> block_test(std::span<const SessionPair> sessions, int horizon) {
  const auto difference = difference_of(sessions);
  const auto blocks = in_blocks(sessions, horizon);
  if (!difference || static_cast<int>(blocks.size()) < kLeastBlocks) return std::nullopt;
  BlockTest out;
  out.difference = *difference;
  out.blocks = static_cast<int>(blocks.size());
  out.error = error_of(blocks, total_of(sessions));
  const boost::math::students_t_distribution<double> t(out.blocks - 1);
  const double reach = boost::math::quantile(t, 0.975) * out.error;
  out.low = out.difference - reach, out.high = out.difference + reach;
  if (out.error > 0) out.p = 2 * boost::math::cdf(boost::math::complement(t, std::abs(out.difference) / out.error));
  return out;
}

std::vector<double> holm(std::span<const double> p) {
  std::vector<std::size_t> order(p.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](std::size_t x, std::size_t y) { return p[x] < p[y]; });
  std::vector<double> out(p.size());
  double highest = 0;
  for (std::size_t rank = 0; rank < order.size(); ++rank) {
    const double corrected = std::min(1.0, p[order[rank]] * static_cast<double>(order.size() - rank));
    out[order[rank]] = highest = std::max(highest, corrected);
  }
  return out;
}

}  // namespace brimwatch
