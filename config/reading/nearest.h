#pragma once
// "Did you mean": the known word nearest to a misspelt one.
#include <span>
#include <string_view>
#include <vector>

namespace brimwatch {

/// Letters to insert, drop, replace or swap with a neighbour, to make one word the other. Bounded: words over 64 bytes
/// count as far apart.
[[nodiscard]] int edit_distance(std::string_view a, std::string_view b);

/// Empty when nothing is near enough to be meant (more than two fifths of the letters differ).
[[nodiscard]] std::string_view nearest(std::string_view word, const std::vector<std::string_view>& known);

}  // namespace brimwatch
