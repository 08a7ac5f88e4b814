#include "config/reading/nearest.h"

#include <algorithm>
#include <array>

namespace brimwatch {
namespace {
constexpr std::size_t kLongest = 64;
}

int edit_distance(std::string_view a, std::string_view b) {
  if (a.size() > kLongest || b.size() > kLongest) return static_cast<int>(kLongest);
  // Optimal string alignment with three rows: the one before last is needed for a swap of neighbours.
  std::array<std::array<int, kLongest + 1>, 3> rows{};
  for (std::size_t j = 0; j <= b.size(); ++j) rows[0][j] = static_cast<int>(j);
  for (std::size_t i = 1; i <= a.size(); ++i) {
    auto& row = rows[i % 3];
    const auto& above = rows[(i + 2) % 3];
    const auto& before = rows[(i + 1) % 3];
    row[0] = static_cast<int>(i);
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const int change = above[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      row[j] = std::min({above[j] + 1, row[j - 1] + 1, change});
      const bool swapped = i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1];
      if (swapped) row[j] = std::min(row[j], before[j - 2] + 1);
    }
  }
  return rows[a.size() % 3][b.size()];
}

std::string_view nearest(std::string_view word, const std::vector<std::string_view>& known) {
  std::string_view best;
  int least = static_cast<int>(kLongest);
  for (const std::string_view candidate : known) {
    const int distance = edit_distance(word, candidate);
    if (distance < least) {
      least = distance;
      best = candidate;
    }
  }
  const auto longer = static_cast<int>(std::max(word.size(), best.size()));
  return least * 5 <= longer * 2 ? best : std::string_view();
}

}  // namespace brimwatch
