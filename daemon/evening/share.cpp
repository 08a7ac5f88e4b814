#include "evening/share.h"

#include <algorithm>
#include <cmath>
#include <set>

namespace brimwatch {
namespace {

constexpr double kZ = 1.959963984540054;

double worth(std::span<const Decided> decided, Alike alike) {
  std::set<std::pair<int, unsigned>> months;
  for (const Decided& one : decided) {
    const auto day = one.day.ymd();
    months.insert({static_cast<int>(day.year()), static_cast<unsigned>(day.month())});
  }
  const auto count = static_cast<double>(decided.size());
  const double in_a_month = count / static_cast<double>(std::max<std::size_t>(months.size(), 1));
  return count / (1 + (in_a_month - 1) * alike.month);
}

/// Wilson (1927), of a share and a number of crossings that need not be whole.
Interval wilson(double share, double count) {
  const double z2 = kZ * kZ, middle = (share + z2 / (2 * count)) / (1 + z2 / count);
  const double half = kZ / (1 + z2 / count) * std::sqrt(share * (1 - share) / count + z2 / (4 * count * count));
  return {std::max(0.0, middle - half), std::min(1.0, middle + half)};
}

}  // namespace

Share share_of(std::span<const Decided> decided, Alike alike) {
  Share out;
  out.of = static_cast<int>(decided.size());
  out.hits = static_cast<int>(std::count_if(decided.begin(), decided.end(), [](const Decided& one) { return one.hit; }));
  if (out.of > 0) out.between = wilson(out.share(), worth(decided, alike));
  return out;
}

}  // namespace brimwatch
