#include "adapters/push/vapid.h"

#include "adapters/push/base64url.h"
#include "config/address.h"
#include "core/text/json.h"

namespace brimwatch {
namespace {

constexpr std::chrono::hours kGoodFor{12};  // RFC 8292 section 2: at most 24

}  // namespace

Result<std::string> vapid_authorization(const P256& key, std::string_view endpoint, std::string_view contact,
                                        std::chrono::sys_seconds now) {
  const Json claims{{"aud", address_to_show(endpoint)},
                    {"exp", (now + kGoodFor).time_since_epoch().count()},
                    {"sub", std::string(contact)}};
  const std::string text = base64url(R"({"typ":"JWT","alg":"ES256"})") + "." + base64url(claims.dump());
  auto signature = key.sign(text);
  if (!signature) return signature;
  return "vapid t=" + text + "." + base64url(*signature) + ", k=" + base64url(key.public_bytes());
}

}  // namespace brimwatch
