#include "adapters/channels/http_exchange.h"

#include <algorithm>

#include "adapters/channels/curl_handle.h"
#include "adapters/channels/last_chunk.h"
#include "config/address.h"
#include "config/told_reason.h"
#include "core/text/retry_after.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr std::size_t kAnswerMost = 65'536;

std::size_t take_answer(char* data, std::size_t size, std::size_t count, void* user) {
  std::string& body = static_cast<HttpReceived*>(user)->body;
  body.append(data, std::min(size * count, kAnswerMost - std::min(kAnswerMost, body.size())));
  return size * count;
}

bool is_answer_header(std::string_view line, std::string_view name) {
  return line.size() > name.size() && line[name.size()] == ':' &&
         std::equal(name.begin(), name.end(), line.begin(),
                    [](char a, char b) { return a == (b >= 'A' && b <= 'Z' ? b + 32 : b); });
}

std::size_t take_answer_header(char* data, std::size_t size, std::size_t count, void* user) {
  auto& received = *static_cast<HttpReceived*>(user);
  const std::string_view line(data, size * count);
  if (is_answer_header(line, "retry-after")) received.retry_after = line.substr(line.find(':') + 1);
  if (is_answer_header(line, "location")) received.location = line.substr(line.find(':') + 1);
  return line.size();
}

void set_body(CurlHandle& handle, const HttpSending& sending) {
  if (!sending.parts.empty()) {
    for (const HttpPart& part : sending.parts) handle.add_part(part.name, part.file_name, part.type, part.body);
    handle.set_parts();
  } else {
    handle.set(CURLOPT_POST, 1L);
    handle.set(CURLOPT_POSTFIELDSIZE_LARGE, static_cast<curl_off_t>(sending.body.size()));
    handle.set(CURLOPT_POSTFIELDS, sending.body.c_str());
  }
  if (sending.method != "POST") handle.set(CURLOPT_CUSTOMREQUEST, sending.method.c_str());
}

std::size_t size_of(const HttpSending& sending) {
  std::size_t all = sending.parts.empty() ? sending.body.size() : 0;
  for (const HttpPart& part : sending.parts) all += part.body.size();
  return all;
}

}  // namespace

HttpReceived exchange(const HttpSending& sending, const ChannelSettings& settings) {
  HttpReceived received;
  CurlHandle handle;
  handle.set_common(sending.url, settings.insecure_loopback ? "http,https" : "https", sending.timeout, settings.ca_file,
                    settings.proxy);
  handle.set_list(CURLOPT_HTTPHEADER, sending.headers);
  handle.set(CURLOPT_USERAGENT, "brimwatch");
  handle.set(CURLOPT_FOLLOWLOCATION, 0L);
  set_body(handle, sending);
  LastChunk chunk{sending.body, sending.may_send};
  if (sending.may_send && sending.parts.empty()) {
    handle.set(CURLOPT_POSTFIELDS, static_cast<char*>(nullptr));
    handle.set(CURLOPT_READFUNCTION, &LastChunk::give);
    handle.set(CURLOPT_READDATA, &chunk);
  }
  handle.set(CURLOPT_MAXFILESIZE, 1L << 20);
  handle.set(CURLOPT_WRITEFUNCTION, &take_answer);
  handle.set(CURLOPT_WRITEDATA, &received);
  handle.set(CURLOPT_HEADERFUNCTION, &take_answer_header);
  handle.set(CURLOPT_HEADERDATA, &received);
  const CURLcode code = handle.perform(received.words);
  if (const long status = handle.response_code(); status >= 200) received.status = status;
  received.given = code != CURLE_OK && handle.bytes_sent() >= static_cast<curl_off_t>(size_of(sending));
  return received;
}

Outcome outcome_of_status(long status) {
  if (status >= 200 && status < 300) return Outcome::delivered;
  if (status == 408 || status == 425 || status == 429 || status >= 500) return Outcome::retry;
  return Outcome::dead;  // redirects too: what moved has to be configured anew
}

std::string words_of_answer(const HttpReceived& received) {
  std::string words = "HTTP " + std::to_string(received.status);
  if (!received.location.empty() && received.status >= 300 && received.status < 400)
    return words + ", moved to " + clean_line(without_query(received.location), 120);
  const std::string reason = told_reason(received.body);
  return reason.empty() ? words : words + ": " + reason;
}

/// The status line decides where there is one, even when the connection broke in the middle of the answer's body.
Delivery delivery_of(const HttpReceived& received, std::chrono::sys_seconds now) {
  if (received.status == 0) return {received.given ? Outcome::unknown : Outcome::retry, received.words, std::nullopt};
  Delivery delivery{outcome_of_status(received.status), words_of_answer(received), std::nullopt};
  if (delivery.outcome == Outcome::retry)
    delivery.retry_after = parse_retry_after(received.retry_after, Timestamp{now.time_since_epoch().count() * kSecond});
  return delivery;
}

Status check_web_address(const std::string& url, bool insecure_loopback) {
  const Result<UrlParts> parts = parse_url(url);
  if (!parts) return tl::unexpected(parts.error());
  const bool clear = parts->scheme == "http" && insecure_loopback && parts->loopback;
  if (parts->scheme == "https" || clear) return {};
  return fail("url: found scheme " + clean_line(parts->scheme, 20) +
              ", expected https:// (http:// for 127.0.0.1 and [::1] alone, with insecure_loopback = true)");
}

}  // namespace brimwatch
