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

/// Of a mail that an email channel with `write_to` has written: a name as file_name_of makes it, and ".eml".
[[nodiscard]] bool is_name_of_written_mail(std::string_view name);

}  // namespace brimwatch
