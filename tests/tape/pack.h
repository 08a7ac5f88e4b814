#pragma once
// Packing for tests, by the libraries' one-call forms; the readers under test use the streaming ones.
#include <string>
#include <string_view>

namespace brimwatch {

[[nodiscard]] std::string pack_zstd(std::string_view text);
[[nodiscard]] std::string pack_gzip(std::string_view text);

}  // namespace brimwatch
