// The MQTT channel against Debian's broker (mosquitto): what its own client hears, and what happens without it.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <netinet/in.h>
#include <sys/socket.h>

#include <fstream>

#include "adapters/channels/table.h"
#include "core/text/json.h"
#include "tests/channels/certificates.h"
#include "tests/channels/messages.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;
using testing_support::certificates;
using testing_support::message_of;
using testing_support::Peer;
using testing_support::sample_record;
using testing_support::TemporaryDirectory;

int free_port() {
  const int probe = ::socket(AF_INET, SOCK_STREAM, 0);
  sockaddr_in where{};
  where.sin_family = AF_INET;
  where.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  socklen_t size = sizeof where;
  if (::bind(probe, reinterpret_cast<sockaddr*>(&where), size) != 0) std::abort();
  ::getsockname(probe, reinterpret_cast<sockaddr*>(&where), &size);
  ::close(probe);
  return ntohs(where.sin_port);
}

bool is_broker_there() { return ::access("/usr/sbin/mosquitto", X_OK) == 0; }

/// A broker of its own; `more` are lines of its configuration. mosquitto(8) says on standard error when it runs.
class Broker {
 public:
  explicit Broker(const std::string& more) : port_(std::to_string(free_port())) {
    std::ofstream(folder_.path() + "/b.conf")
        << "listener " << port_ << " 127.0.0.1\nlog_dest stderr\nlog_type all\nuser root\n"
        << more;
    peer_ = std::make_unique<Peer>(
        std::vector<std::string>{"/bin/sh", "-c", "exec /usr/sbin/mosquitto -c " + folder_.path() + "/b.conf 2>&1"});
    until(" running");
  }
  std::string until(const std::string& what) {
    for (std::string line = peer_->line(); !line.empty(); line = peer_->line())
      if (line.find(what) != std::string::npos) return line;
    return {};
  }
  void stall() { peer_->signal(SIGSTOP); }
  [[nodiscard]] const std::string& port() const { return port_; }
  [[nodiscard]] const std::string& folder() const { return folder_.path(); }

 private:
  TemporaryDirectory folder_;
  std::string port_;
  std::unique_ptr<Peer> peer_;
};

ChannelSettings settings_for(const std::string& url) {
  ChannelSettings settings;
  settings.name = settings.kind = "mqtt";
  settings.url = url;
  settings.topic = "brimwatch/{symbol}/{kind}";
  settings.insecure_loopback = true;
  settings.timeout = std::chrono::seconds(5);
  return settings;
}

Delivery sent(const ChannelSettings& settings) {
  ChannelContext context = default_context();
  context.secret = [](const SecretSource&) -> Result<Secret> { return Secret("pass-17"); };
  auto channel = make_channel(settings, context);
  return channel ? (*channel)->send(message_of(sample_record())) : Delivery{Outcome::dead, channel.error().text, {}};
}

TEST(Mqtt, AnotherClientHearsTheNotice) {
  if (!is_broker_there()) GTEST_SKIP() << "mosquitto is not installed";
  Broker broker("allow_anonymous true\n");
  Peer listener({"/usr/bin/mosquitto_sub", "-h", "127.0.0.1", "-p", broker.port(), "-t", "brimwatch/#", "-v", "-q", "1"});
  ASSERT_FALSE(broker.until("SUBACK").empty());
  ChannelSettings settings = settings_for("mqtt://127.0.0.1:" + broker.port());
  const Delivery event = sent(settings);
  EXPECT_EQ(event.outcome, Outcome::delivered) << event.reply;
  EXPECT_EQ(event.reply, "taken by the broker: brimwatch/KLVN/crossed");
  const std::string line = listener.line();
  ASSERT_TRUE(line.starts_with("brimwatch/KLVN/crossed {")) << line;
  EXPECT_EQ(Json::parse(line.substr(line.find('{')))["subject"], "KLVN");
  settings.body = "{symbol} at {price}";
  for (const int qos : {0, 1, 2}) {
    settings.qos = qos;
    EXPECT_EQ(sent(settings).outcome, Outcome::delivered) << qos;
    EXPECT_EQ(listener.line(), "brimwatch/KLVN/crossed KLVN at 48.41");
  }
}

TEST(Mqtt, OverTlsWithAPasswordAndNotWithAnotherHostsCertificate) {
  if (!is_broker_there()) GTEST_SKIP() << "mosquitto is not installed";
  const std::string folder = certificates();
  const auto tls = [&](const std::string& name) {
    return "certfile " + folder + "/" + name + ".pem\nkeyfile " + folder + "/" + name + ".key\n";
  };
  Broker good(tls("good") + "allow_anonymous true\n"), other(tls("other") + "allow_anonymous true\n");
  ChannelSettings settings = settings_for("mqtts://127.0.0.1:" + good.port());
  settings.ca_file = folder + "/good.pem";
  EXPECT_EQ(sent(settings).outcome, Outcome::delivered) << sent(settings).reply;
  settings.url = "mqtts://127.0.0.1:" + other.port();
  settings.ca_file = folder + "/other.pem";
  EXPECT_EQ(sent(settings).outcome, Outcome::retry);
}

TEST(Mqtt, WhoIsNotLetInIsToldSo) {
  if (!is_broker_there()) GTEST_SKIP() << "mosquitto is not installed";
  Broker broker("allow_anonymous false\n");
  ChannelSettings settings = settings_for("mqtt://127.0.0.1:" + broker.port());
  settings.user = "somebody";
  settings.secret = {SecretSource::Kind::environment, "X"};
  const Delivery delivery = sent(settings);
  EXPECT_EQ(delivery.outcome, Outcome::dead);
  EXPECT_THAT(delivery.reply, HasSubstr("not authorised"));
  EXPECT_EQ(delivery.reply.find("pass-17"), std::string::npos);
}

TEST(Mqtt, WithoutABrokerOrWithADumbOneItIsTriedAgain) {
  EXPECT_EQ(sent(settings_for("mqtt://127.0.0.1:9")).outcome, Outcome::retry);
  if (!is_broker_there()) GTEST_SKIP() << "mosquitto is not installed";
  Broker broker("allow_anonymous true\n");
  broker.stall();
  ChannelSettings settings = settings_for("mqtt://127.0.0.1:" + broker.port());
  settings.timeout = std::chrono::seconds(1);
  EXPECT_EQ(sent(settings).outcome, Outcome::retry);
}

TEST(Mqtt, InTheClearToThisMachineAlone) {
  ChannelSettings settings = settings_for("mqtt://broker.example.org");
  EXPECT_THAT(objections_to(settings).at(0), HasSubstr("expected mqtts://host"));
  settings.url = "mqtt://127.0.0.1";
  settings.insecure_loopback = false;
  EXPECT_FALSE(objections_to(settings).empty());
}

}  // namespace
}  // namespace brimwatch
