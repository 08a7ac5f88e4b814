#pragma once
// The bytes of a file, in one read: an iterator over a stream takes them one by one, which was a quarter of what the
// tests of damaged journals cost under the sanitizers.
#include <filesystem>
#include <fstream>
#include <string>
#include <system_error>

namespace brimwatch::test {

/// Empty where there is no such file.
inline std::string whole_file(const std::filesystem::path& path) {
  std::error_code unreadable;
  const auto size = std::filesystem::file_size(path, unreadable);
  if (unreadable) return {};
  std::string bytes(size, '\0');
  std::ifstream file(path, std::ios::binary);
  file.read(bytes.data(), static_cast<std::streamsize>(size));
  bytes.resize(static_cast<std::size_t>(file.gcount()));
  return bytes;
}

}  // namespace brimwatch::test
