#include "adapters/push/pairing.h"

#include <openssl/crypto.h>

#include <algorithm>

namespace brimwatch {
namespace {

constexpr std::string_view kCodeLetters = "ABCDEFGHJKMNPQRSTVWXYZ0123456789";  // 32: neither I, L, O nor U

/// As one writes it, without what is there for the eye.
std::string bare(std::string_view code) {
  std::string out;
  for (char c : code.substr(0, 64)) {
    if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 32);
    if (c == 'O') c = '0';
    if (c == 'I' || c == 'L') c = '1';
    if (c != '-' && c != ' ') out += c;
  }
  return out;
}

}  // namespace

std::string Pairing::offer(Offer offer, std::string_view random, Nanos now) {
  forget_old(now);
  if (codes_.size() >= kCodesMost) codes_.erase(codes_.begin());
  std::string text;
  for (const char byte : random.substr(0, kRandomBytes)) text += kCodeLetters[static_cast<unsigned char>(byte) % 32];
  codes_.push_back({text, std::move(offer), now + kGoodFor});
  wrong_ = 0;
  for (std::size_t at = 4; at < text.size(); at += 5) text.insert(at, 1, '-');
  return text;
}

std::optional<Pairing::Offer> Pairing::take(std::string_view code, Nanos now) {
  forget_old(now);
  const std::string given = bare(code);
  const auto found = std::find_if(codes_.begin(), codes_.end(), [&](const Code& one) {
    return one.text.size() == given.size() && CRYPTO_memcmp(one.text.data(), given.data(), given.size()) == 0;
  });
  if (found == codes_.end()) {
    if (!codes_.empty() && ++wrong_ >= kTriesMost) codes_.clear();
    return std::nullopt;
  }
  Offer offer = std::move(found->offer);
  codes_.erase(found);
  return offer;
}

std::size_t Pairing::open(Nanos now) {
  forget_old(now);
  return codes_.size();
}

void Pairing::forget_old(Nanos now) {
  std::erase_if(codes_, [&](const Code& one) { return one.until <= now; });
}

}  // namespace brimwatch
