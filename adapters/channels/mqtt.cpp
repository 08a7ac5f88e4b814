// A message to a broker of one's own (MQTT 3.1.1, OASIS): one connection a message, given up when the time is over. With
// qos 1 and 2 it has arrived when the broker says so; with 0 nobody says anything.
#include <chrono>
#include <memory>

#include "adapters/channels/cloud_event.h"
#include "adapters/channels/crypto.h"
#include "adapters/channels/form.h"
#include "adapters/channels/makers.h"
#include "adapters/libraries/mosquitto.h"
#include "config/address.h"
#include "config/secret.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr int kPortInClear = 1883, kPortTls = 8883, kKeepAlive = 30, kStepMs = 100;

struct FreeBroker {
  void operator()(struct mosquitto* client) const { mosquitto_library().destroy(client); }
};

/// What the broker has said so far.
struct Heard {
  bool answered = false, taken = false;
  int refusal = 0;  ///< of the connection; 0: let in
  int message = 0;  ///< its number
};

void on_connect(struct mosquitto*, void* user, int code) {
  auto& heard = *static_cast<Heard*>(user);
  heard.answered = true;
  heard.refusal = code;
}

void on_publish(struct mosquitto*, void* user, int number) {
  auto& heard = *static_cast<Heard*>(user);
  if (number == heard.message) heard.taken = true;
}

class Mqtt final : public Channel {
 public:
  Mqtt(ChannelSettings settings, Address broker, const ChannelContext& context)
      : settings_(std::move(settings)),
        broker_(std::move(broker)),
        secret_(context.secret),
        json_(is_json_form(settings_.body)) {}

  Delivery send(const Message& message) override {
    const MosquittoLibrary& library = mosquitto_library();
    const auto end = std::chrono::steady_clock::now() + settings_.timeout;
    Heard heard;
    const std::string id = "brimwatch-" + sha256_hex(settings_.name + message.id, 12);  // at most 23 characters (3.1.3.1)
    const std::unique_ptr<struct mosquitto, FreeBroker> client(library.make(id.c_str(), true, &heard));
    if (client == nullptr) return {Outcome::retry, "libmosquitto gives no client", std::nullopt};
    if (const Status ready = prepare(client.get()); !ready) return {Outcome::retry, ready.error().text, std::nullopt};
    const int port = broker_.port != 0 ? broker_.port : is_tls() ? kPortTls : kPortInClear;
    if (const int code = library.connect(client.get(), broker_.host.c_str(), port, kKeepAlive); code != MOSQ_ERR_SUCCESS)
      return {Outcome::retry, words(code), std::nullopt};
    Delivery delivery = talk(client.get(), message, heard, end);
    library.disconnect(client.get());
    library.loop(client.get(), 0, 1);
    return delivery;
  }

 private:
  [[nodiscard]] bool is_tls() const { return broker_.scheme == "mqtts"; }
  static std::string words(int code) { return std::string("MQTT: ") + mosquitto_library().strerror(code); }

  Status prepare(struct mosquitto* client) const {
    const MosquittoLibrary& library = mosquitto_library();
    library.connect_callback_set(client, &on_connect);
    library.publish_callback_set(client, &on_publish);
    if (is_tls()) {
      const bool own = !settings_.ca_file.empty();
      const int code = own ? library.tls_set(client, settings_.ca_file.c_str(), nullptr, nullptr, nullptr, nullptr)
                           : library.int_option(client, MOSQ_OPT_TLS_USE_OS_CERTS, 1);
      if (code != MOSQ_ERR_SUCCESS) return fail(words(code));
      library.tls_opts_set(client, 1, "tlsv1.2", nullptr);
    }
    if (settings_.user.empty()) return {};
    Secret password;
    if (settings_.secret.kind != SecretSource::Kind::none) {
      Result<Secret> read = secret_(settings_.secret);
      if (!read) return fail("password: " + read.error().text);
      password = std::move(*read);
    }
    library.username_pw_set(client, settings_.user.c_str(), password.text().c_str());
    return {};
  }

  Delivery talk(struct mosquitto* client, const Message& message, Heard& heard,
                std::chrono::steady_clock::time_point end) const {
    if (const int code = turn_until(client, heard.answered, end); code != MOSQ_ERR_SUCCESS && !heard.answered)
      return {Outcome::retry, words(code), std::nullopt};
    if (heard.refusal != 0)
      return {Outcome::dead, std::string("MQTT: ") + mosquitto_library().connack_string(heard.refusal), std::nullopt};
    const FormValues values = form_values(message, settings_.name);
    const std::string topic = filled(settings_.topic, values, Written::topic);
    const std::string body = settings_.body.empty()
                                 ? cloud_event(message, settings_.name)
                                 : filled(settings_.body, values, json_ ? Written::json : Written::plain);
    const int code = mosquitto_library().publish(client, &heard.message, topic.c_str(), static_cast<int>(body.size()),
                                                 body.data(), settings_.qos, settings_.retain);
    if (code != MOSQ_ERR_SUCCESS) return {Outcome::dead, words(code) + ", topic " + clean_line(topic, 80), std::nullopt};
    const int ended = turn_until(client, heard.taken, end);
    if (!heard.taken)
      return {Outcome::unknown, ended == MOSQ_ERR_SUCCESS ? "MQTT: the broker says nothing" : words(ended), {}};
    return {Outcome::delivered, (settings_.qos == 0 ? "sent to " : "taken by the broker: ") + clean_line(topic, 80),
            std::nullopt};
  }

  /// MOSQ_ERR_SUCCESS: it is true, or the time is over.
  static int turn_until(struct mosquitto* client, const bool& wanted, std::chrono::steady_clock::time_point end) {
    while (!wanted && std::chrono::steady_clock::now() < end)
      if (const int code = mosquitto_library().loop(client, kStepMs, 1); code != MOSQ_ERR_SUCCESS) return code;
    return wanted ? MOSQ_ERR_SUCCESS : MOSQ_ERR_ERRNO;
  }

  ChannelSettings settings_;
  Address broker_;
  std::function<Result<Secret>(const SecretSource&)> secret_;
  bool json_;
};

}  // namespace

Result<std::unique_ptr<Channel>> make_mqtt(const ChannelSettings& settings, const ChannelContext& context) {
  const auto broker = parse_address(settings.url);
  const bool clear = broker && broker->scheme == "mqtt" && settings.insecure_loopback && is_loopback(*broker);
  if (!broker || broker->has_user || (broker->scheme != "mqtts" && !clear)) {
    return fail("url: found " + address_to_show(settings.url) +
                ", expected mqtts://host (mqtt:// for 127.0.0.1 and [::1] alone, with insecure_loopback = true)");
  }
  for (const auto& [key, form] : {std::pair("topic", settings.topic), std::pair("body", settings.body)})
    if (const auto fine = check_form_names(key, form, false); !fine) return tl::unexpected(fine.error());
  (void)mosquitto_library();  // where it is not there, that is said now, not with the first notice
  return std::make_unique<Mqtt>(settings, *broker, context);
}

}  // namespace brimwatch
