#pragma once
// A text as a QR code (ISO/IEC 18004) for a terminal: two modules in a character, with the quiet zone that cameras need.
#include <string>
#include <vector>

#include "core/result.h"

namespace brimwatch {

/// Lines of as many characters as it has modules: the light ones are drawn, or where `dark_on_light` the dark ones. Fails
/// where the library is not there.
[[nodiscard]] Result<std::vector<std::string>> qr_picture(const std::string& text, bool dark_on_light);

}  // namespace brimwatch
