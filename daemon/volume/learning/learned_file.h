#pragma once
// The file of learned curves: text (a subset of TOML that a person can read and mend), versioned, replaced as a whole.
#include <map>
#include <string>

#include "core/result.h"
#include "volume/history.h"

namespace brimwatch {

using LearnedBySymbol = std::map<std::string, Learned, std::less<>>;

/// A missing file is an empty map. Errors name file, line, what was found and what is allowed.
[[nodiscard]] Result<LearnedBySymbol> read_learned(const std::string& path);

/// Writes beside it, syncs, renames: after a crash there is the old file or the new one. Mode 0600.
[[nodiscard]] Status write_learned(const std::string& path, const LearnedBySymbol& all);

/// The text itself, for tests and `--json`-less showing.
[[nodiscard]] std::string learned_text(const LearnedBySymbol& all);
[[nodiscard]] Result<LearnedBySymbol> parse_learned(std::string_view text, const std::string& name);

}  // namespace brimwatch
