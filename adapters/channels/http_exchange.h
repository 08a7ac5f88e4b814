#pragma once
// One request to a web server and what came back, for the channels that speak HTTP: webhook and push. No redirect is
// followed; certificates are verified.
#include <chrono>
#include <cstdint>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/channel.h"
#include "config/settings.h"
#include "core/result.h"

namespace brimwatch {

struct HttpPart {
  std::string name, file_name, type;  ///< of a multipart/form-data; empty file_name: a plain field
  std::string_view body;
};

struct HttpSending {
  std::string url;
  std::string method = "POST";
  std::vector<std::string> headers;
  std::string body;
  std::vector<HttpPart> parts{};  ///< not empty: in place of the body
  std::chrono::milliseconds timeout{30'000};
  std::function<bool()> may_send{};  ///< asked at the body's last bytes: false, and it must not arrive; may be empty
};

struct HttpReceived {
  long status = 0;          ///< 0: no answer, `words` say why
  std::string body;         ///< its start, at most 64 KiB
  std::string retry_after;  ///< value of the header
  std::string location;
  std::string words;
  bool given = false;  ///< without an answer: all of the request had gone out, so that it may have arrived
};

/// `settings`: proxy, ca_file, insecure_loopback.
[[nodiscard]] HttpReceived exchange(const HttpSending& sending, const ChannelSettings& settings);

/// The outcome of a status: 2xx delivered; 408, 425, 429 and 5xx retry; all else dead.
[[nodiscard]] Outcome outcome_of_status(long status);

/// "HTTP 503: overloaded", "HTTP 301, moved to https://...".
[[nodiscard]] std::string words_of_answer(const HttpReceived& received);

/// With an answer or without one; retry_after is filled where it is of use.
[[nodiscard]] Delivery delivery_of(const HttpReceived& received, std::chrono::sys_seconds now);

/// https://, or http:// to 127.0.0.1 and ::1 where the channel allows it. The error begins with "url: ".
[[nodiscard]] Status check_web_address(const std::string& url, bool insecure_loopback);

}  // namespace brimwatch
