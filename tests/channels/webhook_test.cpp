// The webhook against a real web server (Python, another process) on loopback, and against the published vectors.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "adapters/channels/cloud_event.h"
#include "adapters/channels/crypto.h"
#include "adapters/channels/table.h"
#include "core/text/json.h"
#include "core/text/notice_json.h"
#include "tests/channels/certificates.h"
#include "tests/channels/messages.h"

namespace brimwatch {
namespace {

using testing_support::certificates;
using testing_support::digest_of;
using testing_support::message_of;
using testing_support::Peer;
using testing_support::sample_record;

constexpr const char* kSecret =
    "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw";  // the published example, no secret of anybody's
const std::chrono::sys_seconds kNow{std::chrono::seconds(1'764'085'327)};

/// The example of the Standard Webhooks specification 1.0.0.
TEST(WebhookSignature, IsThePublishedVector) {
  const auto key = webhook_key(kSecret);
  ASSERT_TRUE(key);
  EXPECT_EQ(webhook_signature(*key, "msg_p5jXN8AQM9LWM0D4loKWxJek",
                              std::chrono::sys_seconds(std::chrono::seconds(1614265330)), R"({"test": 2432232314})"),
            "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=");
}

TEST(WebhookSignature, SecretsOfAnotherFormAreRefusedUnseen) {
  for (const char* secret : {"", "whsec_", "whsec_c2hvcnQ=", "hunter2", "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaS",
                             "whsec_!fKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"}) {
    const auto key = webhook_key(secret);
    ASSERT_FALSE(key) << secret;
    EXPECT_EQ(key.error().text.find("hunter2"), std::string::npos);
  }
}

// RFC 4648, section 10.
TEST(Base64, TheVectorsOfTheStandard) {
  const std::pair<const char*, const char*> vectors[] = {{"", ""},
                                                         {"f", "Zg=="},
                                                         {"fo", "Zm8="},
                                                         {"foo", "Zm9v"},
                                                         {"foob", "Zm9vYg=="},
                                                         {"fooba", "Zm9vYmE="},
                                                         {"foobar", "Zm9vYmFy"}};
  for (const auto& [plain, coded] : vectors) {
    EXPECT_EQ(base64(plain), coded);
    EXPECT_EQ(from_base64(coded), plain);
  }
  for (const char* bad : {"Z", "Zg", "Zg=", "Zg===", "=Zg=", "Zm9v\n", "Zm-v"}) EXPECT_FALSE(from_base64(bad)) << bad;
}

// CloudEvents 1.0: id, source, specversion and type are required; time is RFC 3339.
TEST(CloudEvent, CarriesTheNoticeAsData) {
  const NoticeRecord record = sample_record();
  const OrderedJson event = Json::parse(cloud_event(message_of(record), "my hook"));
  EXPECT_EQ(event["specversion"], "1.0");
  EXPECT_EQ(event["id"], record.id);
  EXPECT_EQ(event["source"], "/brimwatch/my-hook");
  EXPECT_EQ(event["type"], "brimwatch.notice.crossed");
  EXPECT_EQ(event["subject"], "KLVN");
  EXPECT_EQ(event["time"], "2026-11-25T10:42:07.25-05:00");
  EXPECT_EQ(event["datacontenttype"], "application/json");
  EXPECT_EQ(event["data"], Json::parse(to_json(record)));
}

TEST(CloudEvent, ADigestCarriesAllItsNotices) {
  Message message = digest_of({sample_record(), sample_record(NoticeKind::left_range)});
  message.late = std::chrono::seconds(90);
  const OrderedJson event = Json::parse(cloud_event(message, "hook"));
  EXPECT_EQ(event["type"], "brimwatch.digest");
  EXPECT_EQ(event["lateseconds"], 90);
  EXPECT_EQ(event["data"]["notices"].size(), 2U);
  EXPECT_EQ(event["data"]["notices"][1]["kind"], "left-range");
}

class Web {
 public:
  explicit Web(const std::vector<std::string>& answers, const std::string& certificate = "good")
      : peer_(argv(answers, certificate)) {
    port_ = peer_.line();
  }
  [[nodiscard]] const std::string& port() const { return port_; }
  OrderedJson request() {
    const std::string line = peer_.line();
    return line.empty() ? OrderedJson() : OrderedJson::parse(line);
  }
  void end() { peer_.end_input(); }

 private:
  static std::vector<std::string> argv(const std::vector<std::string>& answers, const std::string& certificate) {
    std::vector<std::string> all{"/usr/bin/python3", BRIMWATCH_SOURCE_DIR "/tests/channels/https_peer.py"};
    if (!certificate.empty()) {
      const std::string file = certificates() + "/" + certificate;
      all.insert(all.end(), {"--cert", file + ".pem", "--key", file + ".key"});
    }
    for (const std::string& answer : answers) all.insert(all.end(), {"--answer", answer});
    return all;
  }
  Peer peer_;
  std::string port_;
};

ChannelSettings settings_for(const Web& web) {
  ChannelSettings settings;
  settings.name = "hook";
  settings.kind = "webhook";
  settings.url = "https://127.0.0.1:" + web.port() + "/in?x=1";
  settings.ca_file = certificates() + "/good.pem";
  settings.timeout = std::chrono::seconds(8);
  settings.secret = {SecretSource::Kind::environment, "HOOK"};
  return settings;
}

std::unique_ptr<Channel> channel_for(const ChannelSettings& settings) {
  ChannelContext context;
  context.secret = [](const SecretSource&) -> Result<Secret> { return Secret(std::string(kSecret)); };
  context.now = [] { return kNow; };
  auto channel = make_channel(settings, context);
  EXPECT_TRUE(channel) << channel.error().text;
  return std::move(*channel);
}

TEST(Webhook, PostsASignedEvent) {
  Web web({"200|thanks"});
  const Delivery delivery = channel_for(settings_for(web))->send(message_of(sample_record()));
  EXPECT_EQ(delivery.outcome, Outcome::delivered);
  EXPECT_EQ(delivery.reply, "HTTP 200: thanks");
  const OrderedJson request = web.request();
  EXPECT_EQ(request["method"], "POST");
  EXPECT_EQ(request["path"], "/in?x=1");
  EXPECT_EQ(request["headers"]["content-type"], "application/cloudevents+json; charset=UTF-8");
  EXPECT_EQ(request["headers"]["webhook-timestamp"], "1764085327");
  const std::string id = request["headers"]["webhook-id"];
  EXPECT_EQ(id.find('.'), std::string::npos) << "the signed text is parted by dots";
  const std::string signed_text = id + ".1764085327." + request["body"].get<std::string>();
  EXPECT_EQ(request["headers"]["webhook-signature"], "v1," + base64(hmac_sha256(*webhook_key(kSecret), signed_text)));
  EXPECT_EQ(Json::parse(request["body"].get<std::string>())["id"], sample_record().id);
}

TEST(Webhook, EveryAttemptCarriesTheSameId) {
  Web web({"503", "204"});
  const auto channel = channel_for(settings_for(web));
  Message message = message_of(sample_record());
  EXPECT_EQ(channel->send(message).outcome, Outcome::retry);
  message.attempt = 2;
  EXPECT_EQ(channel->send(message).outcome, Outcome::delivered);
  const OrderedJson first = web.request(), second = web.request();
  EXPECT_EQ(first["headers"]["webhook-id"], second["headers"]["webhook-id"]);
  EXPECT_EQ(first["body"], second["body"]);
}

struct WebhookCase {
  const char* answer;
  Outcome outcome;
  const char* reply;
};

// CloudEvents webhook binding and Standard Webhooks: 2xx done, 410 stop for good, 429 and 5xx later, 3xx not followed.
TEST(Webhook, TheStatusDecides) {
  const WebhookCase cases[] = {
      {"202", Outcome::delivered, "HTTP 202"},
      {"410|gone", Outcome::dead, "HTTP 410: gone"},
      {"404", Outcome::dead, "HTTP 404"},
      {"401|who", Outcome::dead, "HTTP 401: who"},
      {"500", Outcome::retry, "HTTP 500"},
      {"502", Outcome::retry, "HTTP 502"},
      {"408", Outcome::retry, "HTTP 408"},
      {"301;Location: https://127.0.0.1/elsewhere", Outcome::dead, "HTTP 301, moved to https://127.0.0.1/elsewhere"},
      {"308;Location: https://127.0.0.1/new?key=abc", Outcome::dead, "HTTP 308, moved to https://127.0.0.1/new?..."},
      {"drop", Outcome::unknown, ""},
  };
  for (const WebhookCase& one : cases) {
    Web web({one.answer});
    const Delivery delivery = channel_for(settings_for(web))->send(message_of(sample_record()));
    EXPECT_EQ(delivery.outcome, one.outcome) << one.answer << ": " << delivery.reply;
    EXPECT_EQ(delivery.reply.find(one.reply), 0U) << one.answer << ": " << delivery.reply;
  }
}

TEST(Webhook, RedirectsAreNotFollowed) {
  Web web({"307;Location: /again", "204"});
  EXPECT_EQ(channel_for(settings_for(web))->send(message_of(sample_record())).outcome, Outcome::dead);
  web.end();
  EXPECT_EQ(web.request()["path"], "/in?x=1");
  EXPECT_TRUE(web.request().is_null());
}

TEST(Webhook, RetryAfterIsHonoured) {
  Web web({"429;Retry-After: 120", "503;Retry-After: Tue, 25 Nov 2025 15:52:07 GMT", "503;Retry-After: -1",
           "204;Retry-After: 5"});
  const auto channel = channel_for(settings_for(web));
  const Message message = message_of(sample_record());
  EXPECT_EQ(channel->send(message).retry_after, std::chrono::seconds(120));
  EXPECT_EQ(channel->send(message).retry_after, std::chrono::seconds(1'764'085'927 - 1'764'085'327));
  EXPECT_EQ(channel->send(message).retry_after, std::nullopt);
  EXPECT_EQ(channel->send(message).retry_after, std::nullopt);
}

TEST(Webhook, AWrongCertificateIsRefusedBeforeAnythingIsSaid) {
  Web web({"204"}, "other");
  const Delivery delivery = channel_for(settings_for(web))->send(message_of(sample_record()));
  EXPECT_EQ(delivery.outcome, Outcome::retry);
  EXPECT_NE(delivery.reply.find("certificate"), std::string::npos) << delivery.reply;
  web.end();
  EXPECT_TRUE(web.request().is_null());
}

TEST(Webhook, ASilentServerIsGivenUpInTime) {
  Web web({"silent"});
  ChannelSettings settings = settings_for(web);
  settings.timeout = std::chrono::seconds(1);
  const auto start = std::chrono::steady_clock::now();
  EXPECT_EQ(channel_for(settings)->send(message_of(sample_record())).outcome, Outcome::unknown) << "it has the event";
  EXPECT_LT(std::chrono::steady_clock::now() - start, std::chrono::seconds(8));
}

TEST(Webhook, InClearOnlyToLoopbackAndOnlyWhenAllowed) {
  Web web({"204"}, "");
  ChannelSettings settings = settings_for(web);
  settings.url = "http://127.0.0.1:" + web.port();
  EXPECT_FALSE(make_channel(settings));
  settings.insecure_loopback = true;
  EXPECT_EQ(channel_for(settings)->send(message_of(sample_record())).outcome, Outcome::delivered);
  settings.url = "http://hooks.example.org";
  EXPECT_FALSE(make_channel(settings));
  settings.url = "ftp://127.0.0.1";
  EXPECT_FALSE(make_channel(settings));
}

TEST(Webhook, ASecretThatCannotBeReadIsToldWithoutSending) {
  Web web({"204"});
  ChannelContext context = default_context();
  context.secret = [](const SecretSource&) -> Result<Secret> { return fail("secret file /x cannot be opened"); };
  const auto channel = make_channel(settings_for(web), context);
  const Delivery delivery = (*channel)->send(message_of(sample_record()));
  EXPECT_EQ(delivery.outcome, Outcome::retry);
  EXPECT_EQ(delivery.reply, "secret: secret file /x cannot be opened");
  web.end();
  EXPECT_TRUE(web.request().is_null());
}

// A proxy of the environment once got the event with its signature, and its 200 counted as delivered.
TEST(Webhook, NoProxyOfTheEnvironmentGetsTheEvent) {
  Web proxy({"200|swallowed"}), web({"200|thanks"});
  for (const char* name : {"http_proxy", "https_proxy", "HTTPS_PROXY", "all_proxy"})
    ::setenv(name, ("http://127.0.0.1:" + proxy.port()).c_str(), 1);
  const Delivery delivery = channel_for(settings_for(web))->send(message_of(sample_record()));
  for (const char* name : {"http_proxy", "https_proxy", "HTTPS_PROXY", "all_proxy"}) ::unsetenv(name);
  EXPECT_EQ(delivery.reply, "HTTP 200: thanks");
}

TEST(Webhook, TheProxyOfTheConfigurationIsUsedWhateverTheEnvironmentSays) {
  Web web({"200|thanks"});
  ChannelSettings settings = settings_for(web);
  settings.proxy = "http://127.0.0.1:9";
  ::setenv("no_proxy", "*", 1);
  const Delivery delivery = channel_for(settings)->send(message_of(sample_record()));
  ::unsetenv("no_proxy");
  EXPECT_EQ(delivery.outcome, Outcome::retry);
  EXPECT_THAT(delivery.reply, testing::HasSubstr("127.0.0.1"));
}

}  // namespace
}  // namespace brimwatch
