#include "adapters/feeds/connections/http_trouble.h"

#include "config/address.h"
#include "config/secret.h"
#include "config/told_reason.h"
#include "core/text/retry_after.h"

namespace brimwatch {

std::optional<RequestTrouble> trouble_of(const HttpAnswer& answer, Timestamp now, const std::string& secret) {
  if (answer.status == 200 || answer.status == 304) return std::nullopt;
  if (answer.status == 0) return RequestTrouble{without_secret(answer.error, secret), false, 0};
  RequestTrouble out;
  out.text = "the source answered HTTP " + std::to_string(answer.status);
  out.refused = answer.status == 401 || answer.status == 403 || answer.status == 429 || answer.status == 503;
  const auto header = [&](const char* name) {
    const auto found = answer.headers.find(name);
    return found == answer.headers.end() ? std::string() : found->second;
  };
  if (answer.status >= 300 && answer.status < 400) {
    out.text += ", a redirect to " + without_query(header("location")) + ", which is not followed";
    out.refused = true;
  }
  const auto asked = parse_retry_after(header("retry-after"), now);
  if (asked) out.wait = asked->count() * kSecond;
  if (asked) out.text += ", come back in " + std::to_string(asked->count()) + " s";
  out.text = without_secret(std::move(out.text), secret);
  // A redirect's body only repeats the redirect.
  if (answer.status >= 400) out.text += quoted_reason(without_secret(answer.body, secret));
  return out;
}

}  // namespace brimwatch
