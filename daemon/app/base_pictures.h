#pragma once
// The pictures of bases that `prepare --pictures DIR` drew, kept in memory, so that the page can show one without anyone
// waiting for a disk. Not for the loop's thread.
#include <map>
#include <string>
#include <vector>

namespace brimwatch {

using BasePictures = std::map<std::string, std::string, std::less<>>;  ///< SVG by symbol

constexpr std::size_t kBasePicturesMost = 2000;          ///< of the watches, in the list's order
constexpr std::size_t kBasePictureBytesMost = 1U << 20;  ///< a larger file is left out

/// DIR/SYMBOL.svg of the symbols that have one.
[[nodiscard]] BasePictures read_base_pictures(const std::string& directory, const std::vector<std::string>& symbols);

}  // namespace brimwatch
