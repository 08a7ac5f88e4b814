#pragma once
// Writes a file whole or not at all.
#include <string>
#include <string_view>

#include "core/result.h"

namespace brimwatch {

/// Writes `bytes` to DIRECTORY/NAME (mode 0600) by way of a temporary file, synced before it takes its name; an older
/// file of that name is replaced. Makes the directory (mode 0700) where it is missing. The error names the path.
[[nodiscard]] Status write_whole_file(const std::string& directory, const std::string& name, std::string_view bytes);

/// A file name made of letters, digits, '-', '_' and '.' that differs for different texts.
[[nodiscard]] std::string file_name_of(std::string_view text);

}  // namespace brimwatch
