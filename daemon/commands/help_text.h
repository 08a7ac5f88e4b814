#pragma once
// The help as a terminal of eighty columns shows it: CLI11 breaks no lines.
#include <string>
#include <string_view>

namespace brimwatch {

constexpr std::size_t kHelpWidth = 80;

/// Lines longer than `width` are broken between words. What follows hangs under the explanation of its option or command,
/// and at the left margin where the line is a sentence. Lines that fit, and words that never do, stay as they are.
[[nodiscard]] std::string fitted_help(std::string_view help, std::size_t width = kHelpWidth);

}  // namespace brimwatch
