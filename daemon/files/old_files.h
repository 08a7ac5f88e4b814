#pragma once
// Files of ours in a folder that have served their time.
#include <functional>
#include <string>
#include <string_view>

#include "core/text/timestamp.h"

namespace brimwatch {

struct OldFiles {
  std::size_t removed = 0;
  std::size_t kept_against_will = 0;  ///< that would not go
  bool finished = true;               ///< false: there may be more, `most` were removed
};

/// Removes plain files of `folder` that `is_ours` knows by their names and that were last written before `before`; at
/// most `most` of them. Looks into no folder below it and follows no link. Where there is no such folder, nothing
/// happens.
[[nodiscard]] OldFiles remove_old_files(const std::string& folder,
                                        const std::function<bool(std::string_view name)>& is_ours, Timestamp before,
                                        std::size_t most);

}  // namespace brimwatch
