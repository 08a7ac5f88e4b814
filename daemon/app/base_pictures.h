#pragma once
// A picture of the base behind each watch, drawn from the configured daily bars, for the page. Reads many files: not for
// the loop's thread.
#include <map>
#include <string>

#include "config/settings.h"

namespace brimwatch {

using BasePictures = std::map<std::string, std::string, std::less<>>;  ///< SVG by symbol

constexpr std::size_t kBasePicturesMost = 2000;  ///< of the symbols, in the order of their names

/// Of each watched symbol with bars in [history] daily: the base whose pivot is the watch's (to a cent in twenty), or the
/// nearest one found, said in the picture's own title. Nothing where no base is found. Files that cannot be read are
/// passed over: the history's own problems are told elsewhere.
[[nodiscard]] BasePictures draw_bases(const Settings& settings);

}  // namespace brimwatch
