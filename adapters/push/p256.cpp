#include "adapters/push/p256.h"

#include <openssl/bn.h>
#include <openssl/core_names.h>
#include <openssl/ec.h>
#include <openssl/ecdsa.h>
#include <openssl/evp.h>
#include <openssl/obj_mac.h>
#include <openssl/param_build.h>
#include <openssl/rand.h>

namespace brimwatch {
namespace {

constexpr std::size_t kPoint = 65, kScalar = 32, kSignaturePart = 32;

template <typename T, void (*Free)(T*)>
struct Freed {
  void operator()(T* what) const { Free(what); }
};
template <typename T, void (*Free)(T*)>
using Owned = std::unique_ptr<T, Freed<T, Free>>;

using Group = Owned<EC_GROUP, EC_GROUP_free>;
using Point = Owned<EC_POINT, EC_POINT_free>;
using Number = Owned<BIGNUM, BN_clear_free>;
using KeyContext = Owned<EVP_PKEY_CTX, EVP_PKEY_CTX_free>;
using DigestContext = Owned<EVP_MD_CTX, EVP_MD_CTX_free>;
using Build = Owned<OSSL_PARAM_BLD, OSSL_PARAM_BLD_free>;
using Params = Owned<OSSL_PARAM, OSSL_PARAM_free>;
using Signature = Owned<ECDSA_SIG, ECDSA_SIG_free>;
using Pair = std::shared_ptr<EVP_PKEY>;

const unsigned char* raw(std::string_view text) { return reinterpret_cast<const unsigned char*>(text.data()); }
unsigned char* raw(std::string& text) { return reinterpret_cast<unsigned char*>(text.data()); }

Group p256_group() { return Group(EC_GROUP_new_by_curve_name(NID_X9_62_prime256v1)); }

/// A key of OpenSSL's from its parts; `number` may be null: only the public one.
Pair pair_of(std::string_view point, const BIGNUM* number) {
  const Build build(OSSL_PARAM_BLD_new());
  if (!build || OSSL_PARAM_BLD_push_utf8_string(build.get(), OSSL_PKEY_PARAM_GROUP_NAME, SN_X9_62_prime256v1, 0) != 1 ||
      OSSL_PARAM_BLD_push_octet_string(build.get(), OSSL_PKEY_PARAM_PUB_KEY, point.data(), point.size()) != 1 ||
      (number != nullptr && OSSL_PARAM_BLD_push_BN(build.get(), OSSL_PKEY_PARAM_PRIV_KEY, number) != 1))
    return nullptr;
  const Params params(OSSL_PARAM_BLD_to_param(build.get()));
  const KeyContext context(EVP_PKEY_CTX_new_from_name(nullptr, "EC", nullptr));
  EVP_PKEY* made = nullptr;
  const int wanted = number == nullptr ? EVP_PKEY_PUBLIC_KEY : EVP_PKEY_KEYPAIR;
  if (!context || !params || EVP_PKEY_fromdata_init(context.get()) != 1 ||
      EVP_PKEY_fromdata(context.get(), &made, wanted, params.get()) != 1)
    return nullptr;
  return {made, EVP_PKEY_free};
}

}  // namespace

bool is_p256_point(std::string_view bytes) {
  if (bytes.size() != kPoint || bytes.front() != '\x04') return false;
  const Group group = p256_group();
  const Point point(EC_POINT_new(group.get()));
  return EC_POINT_oct2point(group.get(), point.get(), raw(bytes), bytes.size(), nullptr) == 1 &&
         EC_POINT_is_on_curve(group.get(), point.get(), nullptr) == 1;
}

Result<P256> P256::generate() {
  const Pair made(EVP_EC_gen("P-256"), EVP_PKEY_free);
  BIGNUM* number = nullptr;
  if (!made || EVP_PKEY_get_bn_param(made.get(), OSSL_PKEY_PARAM_PRIV_KEY, &number) != 1)
    return fail("no key could be made: the system gives no random numbers");
  const Number owned(number);
  std::string bytes(kScalar, '\0');
  BN_bn2binpad(number, raw(bytes), kScalar);
  return from_private(bytes);
}

Result<P256> P256::from_private(std::string_view bytes) {
  const Group group = p256_group();
  const Point point(EC_POINT_new(group.get()));
  const Number number(BN_bin2bn(raw(bytes), static_cast<int>(bytes.size()), nullptr));
  std::string open(kPoint, '\0');
  const bool fits =
      bytes.size() == kScalar && !BN_is_zero(number.get()) && BN_cmp(number.get(), EC_GROUP_get0_order(group.get())) < 0;
  if (!fits || EC_POINT_mul(group.get(), point.get(), number.get(), nullptr, nullptr, nullptr) != 1 ||
      EC_POINT_point2oct(group.get(), point.get(), POINT_CONVERSION_UNCOMPRESSED, raw(open), kPoint, nullptr) != kPoint)
    return fail("found no private key of the curve P-256, expected one of 32 bytes");
  Pair pair = pair_of(open, number.get());
  if (!pair) return fail("this private key cannot be used");
  return P256(std::move(open), std::string(bytes), std::move(pair));
}

Result<std::string> P256::shared_with(std::string_view their_public) const {
  const Pair theirs = is_p256_point(their_public) ? pair_of(their_public, nullptr) : nullptr;
  const KeyContext context(EVP_PKEY_CTX_new(pair_.get(), nullptr));
  std::string secret(kScalar, '\0');
  std::size_t size = secret.size();
  if (!theirs || EVP_PKEY_derive_init(context.get()) != 1 || EVP_PKEY_derive_set_peer(context.get(), theirs.get()) != 1 ||
      EVP_PKEY_derive(context.get(), raw(secret), &size) != 1 || size != kScalar)
    return fail("found no public key of the curve P-256");
  return secret;
}

Result<std::string> P256::sign(std::string_view text) const {
  const DigestContext context(EVP_MD_CTX_new());
  std::string der(128, '\0');
  std::size_t size = der.size();
  if (EVP_DigestSignInit(context.get(), nullptr, EVP_sha256(), nullptr, pair_.get()) != 1 ||
      EVP_DigestSign(context.get(), raw(der), &size, raw(text), text.size()) != 1)
    return fail("it could not be signed");
  const unsigned char* at = raw(der);
  const Signature parts(d2i_ECDSA_SIG(nullptr, &at, static_cast<long>(size)));
  std::string out(2 * kSignaturePart, '\0');
  if (!parts || BN_bn2binpad(ECDSA_SIG_get0_r(parts.get()), raw(out), kSignaturePart) < 0 ||
      BN_bn2binpad(ECDSA_SIG_get0_s(parts.get()), raw(out) + kSignaturePart, kSignaturePart) < 0)
    return fail("it could not be signed");
  return out;
}

Result<std::string> random_bytes(std::size_t count) {
  std::string out(count, '\0');
  if (RAND_bytes(raw(out), static_cast<int>(count)) != 1) return fail("the system gives no random numbers");
  return out;
}

}  // namespace brimwatch
