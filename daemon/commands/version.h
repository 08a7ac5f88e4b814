#pragma once
// What `brimwatch --version` says: version, build, and the libraries it runs with.
#include <string>

namespace brimwatch {

/// The commit it was built from, with ", changed" where the sources differed from it; empty outside of a clone. Made at
/// build time.
extern const char* const kBuiltFrom;

/// Several lines, the last without its end. The first is "brimwatch VERSION"; libraries that can tell their version while
/// running are asked, the others were fixed when this was compiled.
[[nodiscard]] std::string version_text();

}  // namespace brimwatch
