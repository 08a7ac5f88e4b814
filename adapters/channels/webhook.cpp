// A webhook: one HTTPS request a message. As it is, a signed event with the same id on every attempt, so that the
// receiver can drop what it has: a POST without an answer is unknown, and harmless to repeat (drops_doubles in table.h).
// Or in the form of its user (form.h). No redirect is followed; http:// only to 127.0.0.1 or ::1, and only where
// insecure_loopback says so.
#include <algorithm>
#include <string>
#include <vector>

#include "adapters/channels/cloud_event.h"
#include "adapters/channels/form.h"
#include "adapters/channels/http_exchange.h"
#include "adapters/channels/makers.h"
#include "config/secret.h"
#include "core/text/json.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

class Webhook final : public Channel {
 public:
  Webhook(ChannelSettings settings, const ChannelContext& context)
      : settings_(std::move(settings)), secret_(context.secret), now_(context.now), may_send_(context.may_send) {}

  Delivery send(const Message& message) override {
    HttpSending sending;
    sending.url = settings_.url;
    sending.timeout = settings_.timeout;
    sending.body = cloud_event(message, settings_.name);
    auto headers = headers_of(message, sending.body);
    if (!headers) return {Outcome::retry, headers.error().text, std::nullopt};
    sending.headers = std::move(*headers);
    sending.may_send = may_send_;
    return delivery_of(exchange(sending, settings_), now_());
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

  ChannelSettings settings_;
  std::function<Result<Secret>(const SecretSource&)> secret_;
  std::function<std::chrono::sys_seconds()> now_;
  std::function<bool()> may_send_;
};

class OwnForm final : public Channel {
 public:
  OwnForm(ChannelSettings settings, const ChannelContext& context)
      : settings_(std::move(settings)),
        secret_(context.secret),
        now_(context.now),
        may_send_(context.may_send),
        json_(is_json_form(settings_.body)) {}

  Delivery send(const Message& message) override {
    FormValues values = form_values(message, settings_.name);
    if (settings_.secret.kind != SecretSource::Kind::none) {
      const Result<Secret> secret = secret_(settings_.secret);
      if (!secret) return {Outcome::retry, "secret: " + secret.error().text, std::nullopt};
      values["secret"] = secret->text();
    }
    const Delivery delivery = judged(exchange(sending_of(message, values), settings_), values["secret"]);
    wipe(values["secret"]);
    return delivery;
  }

 private:
  [[nodiscard]] HttpSending sending_of(const Message& message, const FormValues& values) const {
    HttpSending sending;
    sending.url = filled(settings_.url, values, Written::url);
    sending.method = settings_.method;
    sending.timeout = settings_.timeout;
    sending.body = filled(settings_.body, values, json_ ? Written::json : Written::plain);
    sending.headers = {"Expect:"};
    sending.may_send = may_send_;
    const bool in_parts = !settings_.picture_part.empty() && !message.picture_png.empty();
    const std::string type = json_ ? "application/json" : "text/plain; charset=utf-8";
    if (!in_parts && !names_type()) sending.headers.push_back("Content-Type: " + type);
    for (const auto& [name, form] : settings_.headers)
      sending.headers.push_back(name + ": " + filled(form, values, Written::header));
    if (!in_parts) return sending;
    const std::string_view png(reinterpret_cast<const char*>(message.picture_png.data()), message.picture_png.size());
    sending.parts = {{settings_.body_part, "", type, sending.body},
                     {settings_.picture_part, "day.png", "image/png", png}};
    return sending;
  }

  [[nodiscard]] bool names_type() const {
    return std::any_of(settings_.headers.begin(), settings_.headers.end(), [](const auto& header) {
      return std::equal(header.first.begin(), header.first.end(), std::begin("content-type"),
                        std::end("content-type") - 1,
                        [](char a, char b) { return (a >= 'A' && a <= 'Z' ? a + 32 : a) == b; });
    });
  }

  [[nodiscard]] bool is_success(long status) const {
    if (settings_.success_status.empty()) return status >= 200 && status < 300;
    const std::string said = std::to_string(status);
    return std::any_of(settings_.success_status.begin(), settings_.success_status.end(), [&](const std::string& one) {
      return one == said || (one.ends_with("xx") && one.front() == said.front());
    });
  }

  /// The other side may say no in an answer that is fine: then it is tried again, as it is not known what it thinks of
  /// it. It may repeat the secret, too.
  [[nodiscard]] Delivery judged(HttpReceived received, const std::string& secret) const {
    const bool fine = is_success(received.status);
    const bool agrees = fine && says_so(received.body);
    received.body = without_secret(std::move(received.body), secret);
    received.location = without_secret(std::move(received.location), secret);
    Delivery delivery = brimwatch::delivery_of(received, now_());
    if (received.status == 0) return delivery;
    if (agrees) delivery.outcome = Outcome::delivered;
    else if (fine)
      delivery = {Outcome::retry, words_of_answer(received) + "; " + settings_.success_at + " is not as wanted", {}};
    else if (delivery.outcome == Outcome::delivered) delivery.outcome = Outcome::dead;
    return delivery;
  }

  [[nodiscard]] bool says_so(const std::string& body) const {
    if (settings_.success_at.empty()) return true;
    const Json answer = Json::parse(body, nullptr, false);
    if (answer.is_discarded()) return false;
    const Json::json_pointer at(settings_.success_at);
    if (!answer.contains(at)) return false;
    const Json& found = answer.at(at);
    return (found.is_string() ? found.get<std::string>() : found.dump()) == settings_.success_equals;
  }

  ChannelSettings settings_;
  std::function<Result<Secret>(const SecretSource&)> secret_;
  std::function<std::chrono::sys_seconds()> now_;
  std::function<bool()> may_send_;
  bool json_;
};

Status check_own_form(const ChannelSettings& settings) {
  if (const auto fine = check_form_names("body", settings.body, true); !fine) return fine;
  if (const auto fine = check_form_names("url", settings.url, false); !fine) return fine;
  if (settings.url.find('{') < settings.url.find('/', settings.url.find("://") + 3))
    return fail("url: found a name in its host, expected names in its path or query alone");
  for (const auto& [name, form] : settings.headers) {
    if (name.find_first_not_of("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_") != std::string::npos ||
        name.empty())
      return fail("headers: found \"" + clean_line(name, 60) + "\", expected a header's name such as Authorization");
    if (const auto fine = check_form_names("headers", form, true); !fine) return fine;
  }
  const bool says_json = std::any_of(settings.headers.begin(), settings.headers.end(),
                                     [](const auto& header) { return header.second.starts_with("application/json"); });
  if (says_json && !is_json_form(settings.body))
    return fail("body: found no JSON, expected it as the Content-Type says so");
  return {};
}

}  // namespace

Result<std::unique_ptr<Channel>> make_webhook(const ChannelSettings& settings, const ChannelContext& context) {
  // The names in an address are filled in later: in its path and query alone, never in its host.
  if (const auto fine = check_web_address(filled(settings.url, {}, Written::url), settings.insecure_loopback); !fine)
    return tl::unexpected(fine.error());
  if (settings.body.empty()) return std::make_unique<Webhook>(settings, context);
  if (const auto fine = check_own_form(settings); !fine) return tl::unexpected(fine.error());
  return std::make_unique<OwnForm>(settings, context);
}

}  // namespace brimwatch
