#include "adapters/channels/crypto.h"

#include <openssl/evp.h>
#include <openssl/hmac.h>
#include <openssl/sha.h>

#include <climits>

namespace brimwatch {
namespace {

const unsigned char* bytes_of(std::string_view text) { return reinterpret_cast<const unsigned char*>(text.data()); }

bool is_base64(std::string_view text) {
  constexpr std::string_view kAlphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  if (text.size() % 4 != 0 || text.size() > INT_MAX) return false;
  const std::size_t end = text.find_last_not_of('=') + 1;
  return text.size() - end <= 2 && text.substr(0, end).find_first_not_of(kAlphabet) == std::string_view::npos;
}

}  // namespace

std::string base64(std::string_view bytes) {
  std::string out(4 * ((bytes.size() + 2) / 3) + 1, '\0');  // EVP_EncodeBlock ends with a zero byte
  const int size =
      EVP_EncodeBlock(reinterpret_cast<unsigned char*>(out.data()), bytes_of(bytes), static_cast<int>(bytes.size()));
  out.resize(static_cast<std::size_t>(size));
  return out;
}

std::optional<std::string> from_base64(std::string_view text) {
  if (!is_base64(text)) return std::nullopt;
  const std::size_t padding = text.size() - (text.find_last_not_of('=') + 1);
  std::string out(text.size() / 4 * 3, '\0');
  const int size =
      EVP_DecodeBlock(reinterpret_cast<unsigned char*>(out.data()), bytes_of(text), static_cast<int>(text.size()));
  if (size < 0) return std::nullopt;
  out.resize(static_cast<std::size_t>(size) - padding);
  return out;
}

std::string hmac_sha256(std::string_view key, std::string_view message) {
  std::string out(SHA256_DIGEST_LENGTH, '\0');
  unsigned int size = 0;
  HMAC(EVP_sha256(), key.data(), static_cast<int>(key.size()), bytes_of(message), message.size(),
       reinterpret_cast<unsigned char*>(out.data()), &size);
  return out;
}

std::string sha256_hex(std::string_view bytes, std::size_t digits) {
  unsigned char hash[SHA256_DIGEST_LENGTH];
  SHA256(bytes_of(bytes), bytes.size(), hash);
  std::string out;
  for (const unsigned char byte : hash)
    out.append(1, "0123456789abcdef"[byte >> 4]).append(1, "0123456789abcdef"[byte & 15]);
  return out.substr(0, digits);
}

}  // namespace brimwatch
