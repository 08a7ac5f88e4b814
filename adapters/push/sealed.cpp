#include "adapters/push/sealed.h"

#include <openssl/core_names.h>
#include <openssl/evp.h>
#include <openssl/kdf.h>
#include <openssl/params.h>

#include <memory>

namespace brimwatch {
namespace {

constexpr std::size_t kTag = 16, kKey = 16, kNonce = 12, kSalt = 16, kAuth = 16, kAgreed = 32;
constexpr char kLastRecord = '\x02';

using Kdf = std::unique_ptr<EVP_KDF, decltype(&EVP_KDF_free)>;
using KdfContext = std::unique_ptr<EVP_KDF_CTX, decltype(&EVP_KDF_CTX_free)>;
using Cipher = std::unique_ptr<EVP_CIPHER_CTX, decltype(&EVP_CIPHER_CTX_free)>;

OSSL_PARAM octets(const char* name, std::string_view bytes) {
  return OSSL_PARAM_construct_octet_string(name, const_cast<char*>(bytes.data()), bytes.size());
}

/// HKDF with SHA-256 (RFC 5869).
Result<std::string> hkdf(std::string_view salt, std::string_view secret, std::string_view info, std::size_t size) {
  const Kdf kdf(EVP_KDF_fetch(nullptr, "HKDF", nullptr), EVP_KDF_free);
  const KdfContext context(EVP_KDF_CTX_new(kdf.get()), EVP_KDF_CTX_free);
  char digest[] = "SHA256";
  const OSSL_PARAM params[] = {OSSL_PARAM_construct_utf8_string(OSSL_KDF_PARAM_DIGEST, digest, 0),
                               octets(OSSL_KDF_PARAM_KEY, secret), octets(OSSL_KDF_PARAM_SALT, salt),
                               octets(OSSL_KDF_PARAM_INFO, info), OSSL_PARAM_construct_end()};
  std::string out(size, '\0');
  if (!context || EVP_KDF_derive(context.get(), reinterpret_cast<unsigned char*>(out.data()), size, params) != 1)
    return fail("no key could be derived");
  return out;
}

Result<std::string> aes128gcm(std::string_view key, std::string_view nonce, std::string_view text) {
  const Cipher cipher(EVP_CIPHER_CTX_new(), EVP_CIPHER_CTX_free);
  const auto raw = [](std::string_view bytes) { return reinterpret_cast<const unsigned char*>(bytes.data()); };
  std::string out(text.size() + kTag, '\0');
  auto* const into = reinterpret_cast<unsigned char*>(out.data());
  int size = 0, rest = 0;
  if (!cipher || EVP_EncryptInit_ex(cipher.get(), EVP_aes_128_gcm(), nullptr, raw(key), raw(nonce)) != 1 ||
      EVP_EncryptUpdate(cipher.get(), into, &size, raw(text), static_cast<int>(text.size())) != 1 ||
      EVP_EncryptFinal_ex(cipher.get(), into + size, &rest) != 1 ||
      EVP_CIPHER_CTX_ctrl(cipher.get(), EVP_CTRL_GCM_GET_TAG, kTag, into + text.size()) != 1)
    return fail("it could not be encrypted");
  return out;
}

/// Its info ends with a zero byte, as the RFC writes it.
std::string_view with_zero(const char* text) { return {text, std::char_traits<char>::length(text) + 1}; }

}  // namespace

Result<std::string> encoded_aes128gcm(std::string_view text, std::string_view secret, std::string_view salt,
                                      std::string_view key_id) {
  if (text.size() > kSealedMost || salt.size() != kSalt || key_id.size() > 255)
    return fail("a push message is at most " + std::to_string(kSealedMost) + " bytes");
  const auto key = hkdf(salt, secret, with_zero("Content-Encoding: aes128gcm"), kKey);
  const auto nonce = hkdf(salt, secret, with_zero("Content-Encoding: nonce"), kNonce);
  if (!key || !nonce) return fail("no key could be derived");
  auto record = aes128gcm(*key, *nonce, std::string(text) + kLastRecord);
  if (!record) return record;
  constexpr std::string_view kRecordSize("\0\0\x10\0", 4);
  return std::string(salt).append(kRecordSize).append(1, static_cast<char>(key_id.size())).append(key_id).append(*record);
}

Result<std::string> sealed_for(std::string_view text, std::string_view public_key, std::string_view auth, const P256& own,
                               std::string_view salt) {
  if (auth.size() != kAuth) return fail("found a secret that is not of 16 bytes");
  auto agreed = own.shared_with(public_key);
  if (!agreed) return agreed;
  const std::string info = std::string(with_zero("WebPush: info")).append(public_key).append(own.public_bytes());
  auto secret = hkdf(auth, *agreed, info, kAgreed);
  if (!secret) return secret;
  return encoded_aes128gcm(text, *secret, salt, own.public_bytes());
}

Result<std::string> sealed_for(std::string_view text, std::string_view public_key, std::string_view auth) {
  const auto own = P256::generate();
  if (!own) return tl::unexpected(own.error());
  auto salt = random_bytes(kSalt);
  if (!salt) return salt;
  return sealed_for(text, public_key, auth, *own, *salt);
}

}  // namespace brimwatch
