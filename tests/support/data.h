#pragma once
// Open data for the tests. What may be passed on is in tests/data, its archives unpacked into the build tree
// (tests/data/README.md: sources, licences); the rest is looked for in $BRIMWATCH_DATA, else in ../shared/data beside the
// project.
#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <string>

namespace brimwatch::test {

/// The path of a file or folder of open data; where it is nowhere, the place where it was looked for last.
inline std::string data_path(const std::string& name) {
  namespace fs = std::filesystem;
  const fs::path source = BRIMWATCH_SOURCE_DIR;
  for (const fs::path& carried : {fs::path(BRIMWATCH_BUILD_DIR) / "data" / name, source / "tests/data" / name}) {
    if (fs::exists(carried)) return carried.string();
  }
  const char* given = std::getenv("BRIMWATCH_DATA");
  return ((given != nullptr ? fs::path(given) : source / "../shared/data") / name).string();
}

}  // namespace brimwatch::test

/// Skips the test, saying what is missing.
#define BRIMWATCH_NEEDS_DATA(name)                                              \
  if (!std::filesystem::exists(brimwatch::test::data_path(name))) {             \
    GTEST_SKIP() << "open data not here: " << brimwatch::test::data_path(name); \
  }                                                                             \
  static_assert(true)
