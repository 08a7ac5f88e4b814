#pragma once
// Overwrites what was secret. Plain enough for C++17, as which the WebSocket client is compiled.
#include <cstddef>
#include <string>

namespace brimwatch {

/// All the text's bytes, also those that a short one keeps in the object itself; it is empty afterwards. The compiler
/// does not leave it out.
void wipe(std::string& text);
void wipe(char* bytes, std::size_t size);

}  // namespace brimwatch
