// The heartbeat against a real server on this machine.
#include "app/heartbeat.h"

#include <gmock/gmock.h>

#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/read_until.hpp>
#include <boost/asio/streambuf.hpp>
#include <boost/asio/write.hpp>
#include <vector>

namespace brimwatch {
namespace {

namespace asio = boost::asio;
using asio::ip::tcp;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::SizeIs;
using testing::StartsWith;

/// Answers every request, and keeps what was asked.
struct Watcher {
  explicit Watcher(asio::io_context& io) : acceptor(io, {asio::ip::address_v4::loopback(), 0}) { accept(); }
  void accept() {
    acceptor.async_accept([this](const boost::system::error_code& error, tcp::socket socket) {
      if (error) return;
      auto held = std::make_shared<tcp::socket>(std::move(socket));
      auto buffer = std::make_shared<asio::streambuf>();
      asio::async_read_until(*held, *buffer, "\r\n\r\n", [this, held, buffer](const auto& failed, std::size_t size) {
        if (!failed) requests.emplace_back(asio::buffer_cast<const char*>(buffer->data()), size);
        boost::system::error_code ignored;
        asio::write(*held, asio::buffer("HTTP/1.1 " + status + "\r\nContent-Length: 0\r\nConnection: close\r\n\r\n"),
                    ignored);
      });
      accept();
    });
  }
  [[nodiscard]] std::string url() const {
    return "http://127.0.0.1:" + std::to_string(acceptor.local_endpoint().port()) + "/alive/opensesame";
  }
  tcp::acceptor acceptor;
  std::string status = "200 OK";
  std::vector<std::string> requests;
};

struct HeartbeatTest : ::testing::Test {
  asio::io_context io;
  Watcher watcher{io};
  std::vector<std::string> log;
  Heartbeat heartbeat{io, [this](LogLevel, std::string_view text) { log.emplace_back(text); }};
  LifeSettings life;
  HeartbeatTest() { life.heartbeat_url = watcher.url(); }
  /// Until the server has had so many, or nothing has happened for a while.
  void wait_for(std::size_t count) {
    while (watcher.requests.size() < count && io.run_one_for(std::chrono::seconds(20)) > 0) {
    }
    while (io.run_one_for(std::chrono::milliseconds(50)) > 0) {  // what follows from it
    }
  }
};

TEST_F(HeartbeatTest, CallsAtItsIntervalWithNothingButItself) {
  heartbeat.on_beat(life, kSecond, 1, true);
  wait_for(1);
  heartbeat.on_beat(life, 60 * kSecond, 2, true);  // too soon
  heartbeat.on_beat(life, 61 * kSecond, 3, true);
  wait_for(2);
  ASSERT_THAT(watcher.requests, SizeIs(2));
  EXPECT_THAT(watcher.requests[0], StartsWith("GET /alive/opensesame HTTP/1.1\r\n"));
  EXPECT_THAT(watcher.requests[0], Not(HasSubstr("Authorization")));
  EXPECT_THAT(watcher.requests[0], Not(HasSubstr("Cookie")));
  EXPECT_THAT(log, IsEmpty());
}

TEST_F(HeartbeatTest, AnEngineThatDoesNothingIsNotCalledAlive) {
  heartbeat.on_beat(life, kSecond, 7, true);
  wait_for(1);
  heartbeat.on_beat(life, 100 * kSecond, 7, true);   // the loop turns, the engine stands
  heartbeat.on_beat(life, 101 * kSecond, 8, false);  // it turns, and does not see
  wait_for(1);
  EXPECT_THAT(watcher.requests, SizeIs(1));
  heartbeat.on_beat(life, 102 * kSecond, 8, true);
  wait_for(2);
  EXPECT_THAT(watcher.requests, SizeIs(2));
}

TEST_F(HeartbeatTest, ARefusalIsSaidWithoutTheAddress) {
  watcher.status = "404 Not Found";
  heartbeat.on_beat(life, kSecond, 1, true);
  wait_for(1);
  ASSERT_THAT(log, SizeIs(1));
  EXPECT_THAT(log[0], HasSubstr("404"));
  EXPECT_THAT(log[0], Not(HasSubstr("opensesame")));
}

TEST_F(HeartbeatTest, CountsWhatBecameOfItsCalls) {
  EXPECT_FALSE(heartbeat.is_failing());
  watcher.status = "503 Service Unavailable";
  heartbeat.on_beat(life, kSecond, 1, true);
  wait_for(1);
  EXPECT_TRUE(heartbeat.is_failing());
  watcher.status = "204 No Content";
  heartbeat.on_beat(life, 61 * kSecond, 2, true);
  wait_for(2);
  EXPECT_FALSE(heartbeat.is_failing());
  EXPECT_EQ(heartbeat.called(), 2U);
  EXPECT_EQ(heartbeat.failed(), 1U);
}

}  // namespace
}  // namespace brimwatch
