#include "adapters/push/base64url.h"

#include <openssl/evp.h>

#include <algorithm>
#include <climits>

namespace brimwatch {
namespace {

constexpr std::string_view kUrlAlphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";

}  // namespace

std::string base64url(std::string_view bytes) {
  std::string out(4 * ((bytes.size() + 2) / 3) + 1, '\0');
  const int size = EVP_EncodeBlock(reinterpret_cast<unsigned char*>(out.data()),
                                   reinterpret_cast<const unsigned char*>(bytes.data()), static_cast<int>(bytes.size()));
  out.resize(static_cast<std::size_t>(size));
  out.erase(out.find_last_not_of('=') + 1);
  std::replace(out.begin(), out.end(), '+', '-');
  std::replace(out.begin(), out.end(), '/', '_');
  return out;
}

std::optional<std::string> from_base64url(std::string_view text) {
  text = text.substr(0, text.find_last_not_of('=') + 1);
  if (text.size() > INT_MAX / 2 || text.size() % 4 == 1 || text.find_first_not_of(kUrlAlphabet) != std::string_view::npos)
    return std::nullopt;
  std::string plain(text);
  std::replace(plain.begin(), plain.end(), '-', '+');
  std::replace(plain.begin(), plain.end(), '_', '/');
  const std::size_t padding = (4 - plain.size() % 4) % 4;
  plain.append(padding, '=');
  std::string out(plain.size() / 4 * 3, '\0');
  const int size = EVP_DecodeBlock(reinterpret_cast<unsigned char*>(out.data()),
                                   reinterpret_cast<const unsigned char*>(plain.data()), static_cast<int>(plain.size()));
  if (size < 0) return std::nullopt;
  out.resize(static_cast<std::size_t>(size) - padding);
  return out;
}

}  // namespace brimwatch
