#include "adapters/feeds/connections/http_trouble.h"

#include "adapters/feeds/decoding/excerpt.h"
#include "adapters/feeds/template.h"
#include "config/address.h"
#include "core/text/retry_after.h"

namespace brimwatch {

std::string said_in(const HttpAnswer& answer, const std::string& secret) {
  constexpr std::size_t kRead = 4096, kShown = 160;
  const std::size_t begin = answer.body.find_first_not_of(" \t\r\n");
  if (begin == std::string::npos || answer.body[begin] == '<') return {};
  return ": " + excerpt(without_secret(answer.body.substr(begin, kRead), secret), kShown);
}

std::optional<RequestTrouble> trouble_of(const HttpAnswer& answer, Timestamp now, const std::string& secret) {
  if (answer.status == 200 || answer.status == 304) return std::nullopt;
  if (answer.status == 0) return RequestTrouble{answer.error, false, 0};
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
  out.text += said_in(answer, secret);
  if (asked) out.text += ", come back in " + std::to_string(asked->count()) + " s";
  return out;
}

}  // namespace brimwatch
