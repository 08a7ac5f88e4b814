#pragma once
// The one way to load a configuration for use: `check`, `run`, a reload and a replay decide alike, since
// feeds and channels are asked by their own makers while the places in the files are known.
#include <string>

#include "config/loader.h"

namespace brimwatch {

/// `options` with the known calendars and with what feeds and channels would refuse; of what is only doubted, as of
/// missing files, whoever asks for `files` is told.
[[nodiscard]] LoadOptions usable(LoadOptions options = {});

[[nodiscard]] Loaded load_usable(const std::string& path);

}  // namespace brimwatch
