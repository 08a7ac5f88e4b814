#include "adapters/channels/cloud_event.h"

#include "adapters/channels/crypto.h"
#include "core/text/notice_json.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

void pair(std::string& out, std::string_view key, std::string_view value) {
  out.append(out.back() == '{' ? "\"" : ",\"").append(key).append("\":");
  append_json_string(out, value);
}

std::string digest_data(const Message& message) {
  std::string out = "{";
  pair(out, "title", message.title);
  pair(out, "text", message.text);
  out += ",\"notices\":[";
  for (const NoticeRecord& record : message.notices) {
    if (out.back() != '[') out += ',';
    out += to_json(record);
  }
  return out + "]}";
}

}  // namespace

std::string cloud_event(const Message& message, std::string_view channel) {
  const bool single = message.notices.size() == 1;
  std::string out = "{";
  pair(out, "specversion", "1.0");
  pair(out, "id", message.id);
  std::string source = "/brimwatch/";
  for (const char c : channel.substr(0, 60)) {
    const bool safe = (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || c == '-' || c == '_';
    source += safe ? c : '-';
  }
  pair(out, "source", source);
  pair(out, "type",
       single ? "brimwatch.notice." + std::string(to_string(message.notices.front().notice.kind))
              : std::string("brimwatch.digest"));
  if (!message.notices.empty()) {
    const NoticeRecord& first = message.notices.front();
    pair(out, "time", to_rfc3339(first.notice.time, first.offset));
    if (single && !first.symbol.empty()) pair(out, "subject", first.symbol);
  }
  pair(out, "datacontenttype", "application/json");
  if (message.late) out += ",\"lateseconds\":" + std::to_string(message.late->count());
  return out + ",\"data\":" + (single ? to_json(message.notices.front()) : digest_data(message)) + "}";
}

Result<std::string> webhook_key(std::string_view secret) {
  constexpr std::string_view kPrefix = "whsec_";
  if (secret.substr(0, kPrefix.size()) == kPrefix) secret.remove_prefix(kPrefix.size());
  const auto key = from_base64(secret);
  if (!key || key->size() < 24 || key->size() > 64) {
    return fail("the signing secret is not as expected: whsec_ and the base64 of 24 to 64 bytes");
  }
  return *key;
}

std::string webhook_signature(std::string_view key, std::string_view id, std::chrono::sys_seconds time,
                              std::string_view body) {
  std::string signed_text(id);
  signed_text.append(".").append(std::to_string(time.time_since_epoch().count())).append(".").append(body);
  return "v1," + base64(hmac_sha256(key, signed_text));
}

std::string webhook_id(std::string_view message_id) { return "notice_" + sha256_hex(message_id, 32); }

}  // namespace brimwatch
