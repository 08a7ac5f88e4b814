#pragma once
// The watched symbol that a person means who wrote it in letters of another case.
#include <string>

#include "core/watch_list.h"

namespace brimwatch {

/// The one written so, or the only one that differs from it in the case of letters alone; else `written` itself.
[[nodiscard]] std::string symbol_meant(const WatchList& watches, const std::string& written);

}  // namespace brimwatch
