#pragma once
// The body and the signature of a webhook: CloudEvents 1.0 (structured JSON), Standard Webhooks 1.0. Pure.
#include <chrono>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/channel.h"
#include "core/result.h"

namespace brimwatch {

/// One event: id = the message's, the same on every attempt, source = "/brimwatch/" + channel, type =
/// "brimwatch.notice.KIND" with the notice as data, or "brimwatch.digest" with title, text and notices.
[[nodiscard]] std::string cloud_event(const Message& message, std::string_view channel);

/// The key of a secret such as "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw": base64 of 24 to 64 bytes. The error never shows
/// it.
[[nodiscard]] Result<std::string> webhook_key(std::string_view secret);

/// The signature "v1,..." of id.timestamp.body.
[[nodiscard]] std::string webhook_signature(std::string_view key, std::string_view id, std::chrono::sys_seconds time,
                                            std::string_view body);

/// The id for the header: a hash of the message's id, since dots separate the parts of the signed text.
[[nodiscard]] std::string webhook_id(std::string_view message_id);

}  // namespace brimwatch
