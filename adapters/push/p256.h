#pragma once
// Keys on the curve P-256, by OpenSSL: agreement and signature, as Web Push has them.
#include <memory>
#include <string>
#include <string_view>

#include "core/result.h"

struct evp_pkey_st;

namespace brimwatch {

/// A pair of keys. Public keys are 65 bytes (uncompressed point), private ones 32.
class P256 {
 public:
  static Result<P256> generate();
  static Result<P256> from_private(std::string_view bytes);

  [[nodiscard]] const std::string& public_bytes() const { return public_; }
  [[nodiscard]] const std::string& private_bytes() const { return private_; }

  /// The secret shared with the owner of that public key (ECDH), 32 bytes; an error where it is no point of the curve.
  [[nodiscard]] Result<std::string> shared_with(std::string_view their_public) const;
  /// ES256 (RFC 7518 section 3.4): 64 bytes.
  [[nodiscard]] Result<std::string> sign(std::string_view text) const;

 private:
  P256(std::string public_bytes, std::string private_bytes, std::shared_ptr<evp_pkey_st> pair)
      : public_(std::move(public_bytes)), private_(std::move(private_bytes)), pair_(std::move(pair)) {}
  std::string public_, private_;
  std::shared_ptr<evp_pkey_st> pair_;
};

/// 65 bytes that are a point of the curve.
[[nodiscard]] bool is_p256_point(std::string_view bytes);

/// That many unpredictable random bytes.
[[nodiscard]] Result<std::string> random_bytes(std::size_t count);

}  // namespace brimwatch
