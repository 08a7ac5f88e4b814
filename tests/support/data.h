#pragma once
// Open data for the tests: not part of the project. Looked for in $BRIMWATCH_DATA, else in ../shared/data beside the
// project.
#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <string>

namespace brimwatch::test {

inline std::string data_path(const std::string& name) {
  const char* given = std::getenv("BRIMWATCH_DATA");
  const std::filesystem::path root =
      given != nullptr ? std::filesystem::path(given) : std::filesystem::path(BRIMWATCH_SOURCE_DIR) / "../shared/data";
  return (root / name).string();
}

}  // namespace brimwatch::test

/// Skips the test, saying what is missing.
#define BRIMWATCH_NEEDS_DATA(name)                                              \
  if (!std::filesystem::exists(brimwatch::test::data_path(name))) {             \
    GTEST_SKIP() << "open data not here: " << brimwatch::test::data_path(name); \
  }                                                                             \
  static_assert(true)
