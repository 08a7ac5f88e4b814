// A webhook: one HTTPS POST a message, signed, with the same id on every attempt, so that the receiver can drop what it
// has: a POST without an answer is unknown, and harmless to repeat (drops_doubles in table.h). No redirect is followed;
// http:// only to 127.0.0.1 or ::1, and only where insecure_loopback says so.
#include <algorithm>
#include <string>
#include <vector>

#include "adapters/channels/cloud_event.h"
#include "adapters/channels/curl_handle.h"
#include "adapters/channels/last_chunk.h"
#include "adapters/channels/makers.h"
#include "core/retry_after.h"
#include "core/text.h"

namespace brimwatch {
namespace {

struct Answer {
  std::string body;         ///< its start
  std::string retry_after;  ///< value of the header
  std::string location;
};

std::size_t take_body(char* data, std::size_t size, std::size_t count, void* user) {
  constexpr std::size_t kMost = 2000;
  std::string& body = static_cast<Answer*>(user)->body;
  body.append(data, std::min(size * count, kMost - std::min(kMost, body.size())));
  return size * count;
}

bool is_header(std::string_view line, std::string_view name) {
  return line.size() > name.size() && line[name.size()] == ':' &&
         std::equal(name.begin(), name.end(), line.begin(),
                    [](char a, char b) { return a == (b >= 'A' && b <= 'Z' ? b + 32 : b); });
}

std::size_t take_header(char* data, std::size_t size, std::size_t count, void* user) {
  auto& answer = *static_cast<Answer*>(user);
  const std::string_view line(data, size * count);
  if (is_header(line, "retry-after")) answer.retry_after = line.substr(line.find(':') + 1);
  if (is_header(line, "location")) answer.location = line.substr(line.find(':') + 1);
  return line.size();
}

Outcome outcome_of(long code) {
  if (code >= 200 && code < 300) return Outcome::delivered;
  if (code == 408 || code == 425 || code == 429 || code >= 500) return Outcome::retry;
  return Outcome::dead;  // redirects too: what moved has to be configured anew
}

class Webhook final : public Channel {
 public:
  Webhook(ChannelSettings settings, const ChannelContext& context)
      : settings_(std::move(settings)), secret_(context.secret), now_(context.now), may_send_(context.may_send) {}

  Delivery send(const Message& message) override {
    const std::string body = cloud_event(message, settings_.name);
    const auto headers = headers_of(message, body);
    if (!headers) return {Outcome::retry, headers.error().text, std::nullopt};
    Answer answer;
    CurlHandle curl;
    curl.set_common(settings_.url, settings_.insecure_loopback ? "http,https" : "https", settings_.timeout,
                    settings_.ca_file, settings_.proxy);
    curl.set_list(CURLOPT_HTTPHEADER, *headers);
    curl.set(CURLOPT_USERAGENT, "brimwatch");
    curl.set(CURLOPT_FOLLOWLOCATION, 0L);
    curl.set(CURLOPT_POST, 1L);
    curl.set(CURLOPT_POSTFIELDSIZE_LARGE, static_cast<curl_off_t>(body.size()));
    LastChunk chunk{body, may_send_};
    curl.set(CURLOPT_READFUNCTION, &LastChunk::give);
    curl.set(CURLOPT_READDATA, &chunk);
    curl.set(CURLOPT_MAXFILESIZE, 1L << 20);
    curl.set(CURLOPT_WRITEFUNCTION, &take_body);
    curl.set(CURLOPT_WRITEDATA, &answer);
    curl.set(CURLOPT_HEADERFUNCTION, &take_header);
    curl.set(CURLOPT_HEADERDATA, &answer);
    std::string words;
    const CURLcode code = curl.perform(words);
    if (const long status = curl.response_code(); status >= 200) return delivery_of(status, answer);
    const bool given = code != CURLE_OK && curl.bytes_sent() >= static_cast<curl_off_t>(body.size());
    return {given ? Outcome::unknown : Outcome::retry, words, std::nullopt};
  }

 private:
  [[nodiscard]] Result<std::vector<std::string>> headers_of(const Message& message, const std::string& body) const {
    const std::string id = webhook_id(message.id);
    const std::chrono::sys_seconds now = now_();
    std::vector<std::string> headers{"Content-Type: application/cloudevents+json; charset=UTF-8",
                                     "Expect:", "webhook-id: " + id,
                                     "webhook-timestamp: " + std::to_string(now.time_since_epoch().count())};
    if (settings_.secret.kind == SecretSource::Kind::none) return headers;
    const Result<Secret> secret = secret_(settings_.secret);
    if (!secret) return fail("secret: " + secret.error().text);
    Result<std::string> decoded = webhook_key(secret->text());
    if (!decoded) return fail("secret: " + decoded.error().text);
    const Secret key(std::move(*decoded));
    headers.push_back("webhook-signature: " + webhook_signature(key.text(), id, now, body));
    return headers;
  }

  /// The status line decides where there is one, even when the connection broke in the middle of the answer's body.
  [[nodiscard]] Delivery delivery_of(long code, const Answer& answer) const {
    Delivery delivery{outcome_of(code), "HTTP " + std::to_string(code), std::nullopt};
    if (!answer.location.empty() && code >= 300 && code < 400)
      delivery.reply += ", moved to " + clean_line(answer.location, 120);
    else if (!answer.body.empty()) delivery.reply += ": " + clean_line(answer.body, 120);
    if (delivery.outcome == Outcome::retry) {
      const Timestamp now{now_().time_since_epoch().count() * kSecond};
      delivery.retry_after = parse_retry_after(answer.retry_after, now);
    }
    return delivery;
  }

  ChannelSettings settings_;
  std::function<Result<Secret>(const SecretSource&)> secret_;
  std::function<std::chrono::sys_seconds()> now_;
  std::function<bool()> may_send_;
};

}  // namespace

Result<std::unique_ptr<Channel>> make_webhook(const ChannelSettings& settings, const ChannelContext& context) {
  const Result<UrlParts> url = parse_url(settings.url);
  if (!url) return tl::unexpected(url.error());
  const bool clear = url->scheme == "http" && settings.insecure_loopback && url->loopback;
  if (url->scheme != "https" && !clear) {
    return fail("url: found scheme " + clean_line(url->scheme, 20) +
                ", expected https:// (http:// for 127.0.0.1 and [::1] alone, with insecure_loopback = true)");
  }
  return std::make_unique<Webhook>(settings, context);
}

}  // namespace brimwatch
