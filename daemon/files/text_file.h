#pragma once
// A whole file as text, with a limit: the one way in for lists, daily bars, splits, report dates, curves and calendars.
// What stands in the way is an error, whatever it is; nothing here throws.
#include <cstdint>
#include <string>

#include "core/result.h"

namespace brimwatch {

constexpr std::uint64_t kMostTextBytes = 256U << 20;

/// Regular files only, so that a named pipe cannot hold a reload up. The error says what was found and what is allowed,
/// without the path: for a caller who has the place where the file is named.
[[nodiscard]] Result<std::string> read_text(const std::string& path, std::uint64_t most_bytes = kMostTextBytes);

/// The same; the error begins with the path.
[[nodiscard]] Result<std::string> read_file(const std::string& path, std::uint64_t most_bytes = kMostTextBytes);

/// Whether something has this name. A folder that may not be entered hides it: then the answer is yes, and whoever reads
/// the file says why it cannot.
[[nodiscard]] bool is_there(const std::string& path);

/// Whether this is a folder whose files can be reached.
[[nodiscard]] Status look_into(const std::string& folder);

}  // namespace brimwatch
