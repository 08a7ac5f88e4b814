#pragma once
// Plain text into the man macros of roff (man(7)).
#include <string>
#include <string_view>

namespace brimwatch {

/// Text that stands as it is: backslashes, hyphens, and dots at the start of a line are not taken for orders. What stands
/// between backquotes becomes bold.
[[nodiscard]] std::string roff(std::string_view text);
[[nodiscard]] std::string roff_bold(std::string_view text);
[[nodiscard]] std::string roff_italic(std::string_view text);

/// A term with its explanation below, indented. Both are roff already.
[[nodiscard]] std::string roff_term(std::string_view term, std::string_view explanation);

}  // namespace brimwatch
