#include "app/base_pictures.h"

#include <filesystem>
#include <fstream>
#include <iterator>

namespace brimwatch {
namespace {

/// A symbol is hostile input: it must not climb out of the directory.
bool is_file_name(const std::string& symbol) {
  return !symbol.empty() && symbol.front() != '.' && symbol.find('/') == std::string::npos;
}

}  // namespace

BasePictures read_base_pictures(const std::string& directory, const std::vector<std::string>& symbols) {
  BasePictures out;
  if (directory.empty()) return out;
  for (const std::string& symbol : symbols) {
    if (out.size() >= kBasePicturesMost) break;
    const std::filesystem::path path = std::filesystem::path(directory) / (symbol + ".svg");
    std::error_code error;
    if (!is_file_name(symbol) || !std::filesystem::is_regular_file(path, error)) continue;
    if (std::filesystem::file_size(path, error) > kBasePictureBytesMost || error) continue;
    std::ifstream in(path, std::ios::binary);
    std::string svg{std::istreambuf_iterator<char>(in), {}};
    if (in && svg.find("<svg") != std::string::npos) out.emplace(symbol, std::move(svg));
  }
  return out;
}

}  // namespace brimwatch
