#pragma once
// Which files a pattern of `watch_lists` names. Looks at folders, reads no file.
#include <string>
#include <vector>

namespace brimwatch {

struct ListFiles {
  std::vector<std::string> paths;  ///< sorted by name
  std::string missed;              ///< why there are none, without a full stop; empty: there are some
};

/// The files of the first folder that has any: beside the configuration `file`, then, where that is a link, beside what
/// it leads to. A pattern without wildcards gives that file, there or not.
[[nodiscard]] ListFiles list_files(const std::string& pattern, const std::string& file, const std::string& home);

}  // namespace brimwatch
