#pragma once
// The few cryptographic pieces that channels need, by OpenSSL.
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

namespace brimwatch {

[[nodiscard]] std::string base64(std::string_view bytes);

/// RFC 4648 section 4, padded; empty when the text is anything else.
[[nodiscard]] std::optional<std::string> from_base64(std::string_view text);

/// 32 bytes.
[[nodiscard]] std::string hmac_sha256(std::string_view key, std::string_view message);

/// The first `digits` hexadecimal digits of the SHA-256 of `bytes`.
[[nodiscard]] std::string sha256_hex(std::string_view bytes, std::size_t digits = 64);

}  // namespace brimwatch
