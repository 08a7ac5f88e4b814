#pragma once
// Foreign bytes in readable form.
#include <string>
#include <string_view>

namespace brimwatch {

/// On one line: cut to `most` bytes, what is not printable ASCII shown as '.'.
[[nodiscard]] std::string excerpt(std::string_view bytes, std::size_t most = 200);

}  // namespace brimwatch
