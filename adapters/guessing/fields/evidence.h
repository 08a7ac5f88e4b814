#pragma once
// How evidence is written for a person, and from where on a name counts as one. Pure.
#include <string>

namespace brimwatch {

inline constexpr double kStrongName = 0.65;

/// "0.3 %", "12 %".
[[nodiscard]] std::string percent_of(double share);
/// Two sentences' parts, with "; " between them where there are both.
[[nodiscard]] std::string joined(const std::string& a, const std::string& b);

}  // namespace brimwatch
