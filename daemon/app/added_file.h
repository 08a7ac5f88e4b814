#pragma once
// added.toml beside the journal: for people, what they added and dropped by answers. A copy: what counts are the
// journal's rows, and nothing reads the file but to see whether it is still as it was written here.
#include <string>

#include "core/result.h"

namespace brimwatch {

/// The file as it is written: `list` (answers/lists.h) and a last line by which a change made by hand is seen.
[[nodiscard]] std::string added_file(const std::string& list);

/// Puts `list` there; where there is no file and `list` names no watch, nothing. A file that was changed by hand since it
/// was written here is not lost: it gets another name beside it, which is the answer; empty: there was none.
[[nodiscard]] Result<std::string> keep_added_file(const std::string& path, const std::string& list);

}  // namespace brimwatch
