#pragma once
// A whole file as text, with a limit.
#include <cstdint>
#include <string>

#include "core/result.h"

namespace brimwatch {

/// Regular files only, so that a named pipe cannot hold a reload up. The error says what was found and what is allowed.
[[nodiscard]] Result<std::string> read_text(const std::string& path, std::uint64_t most_bytes);

}  // namespace brimwatch
