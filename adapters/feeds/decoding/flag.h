#pragma once
// Yes and no as sources spell them.
#include <optional>
#include <string_view>

namespace brimwatch {

/// true, t, yes, y, on, 1 and false, f, no, n, off, 0 in letters of either case; no text, or blanks, is no. Empty for
/// anything else.
[[nodiscard]] std::optional<bool> flag_in_text(std::string_view text);

}  // namespace brimwatch
