#pragma once
// The frame of the evening's pages: no script, nothing loaded from elsewhere, readable on paper, light or dark as the
// reader's screen is. Good and bad are words too: colour never says it alone.
#include <string>
#include <string_view>

namespace brimwatch {

/// From the doctype to the heading. Pictures may stand in the page as data.
[[nodiscard]] std::string page_head(std::string_view title);

}  // namespace brimwatch
