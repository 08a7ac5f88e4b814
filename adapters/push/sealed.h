#pragma once
// A message that only one browser can read: RFC 8188 (aes128gcm) under keys that RFC 8291 agrees with it. One record.
// Pure but for the random numbers.
#include <string>
#include <string_view>

#include "adapters/push/p256.h"
#include "core/result.h"

namespace brimwatch {

/// A push service takes 4096 bytes (RFC 8030 section 7.2): so much of the text fits.
constexpr std::size_t kSealedMost = 4096 - 86 - 17;

/// RFC 8188: salt (16 bytes), record size 4096, `key_id`, then the text under keys made of `secret`. At most kSealedMost.
[[nodiscard]] Result<std::string> encoded_aes128gcm(std::string_view text, std::string_view secret, std::string_view salt,
                                                    std::string_view key_id);

/// RFC 8291, for the browser with that public key and that `auth` secret (16 bytes): `own` is made for this message
/// alone.
[[nodiscard]] Result<std::string> sealed_for(std::string_view text, std::string_view public_key, std::string_view auth,
                                             const P256& own, std::string_view salt);

/// The same, with a key and a salt of its own.
[[nodiscard]] Result<std::string> sealed_for(std::string_view text, std::string_view public_key, std::string_view auth);

}  // namespace brimwatch
