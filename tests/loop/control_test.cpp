#include "loop/control.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include <boost/asio/local/stream_protocol.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/write.hpp>
#include <fstream>
#include <optional>
#include <thread>
#include <vector>

#include "loop/lock.h"

namespace brimwatch {
namespace {

std::string fresh_path(const char* name) {
  const std::string path = testing::TempDir() + "brimwatch-" + std::to_string(::getpid()) + "-" + name;
  ::unlink(path.c_str());
  return path;
}

class Running {
 public:
  explicit Running(const std::string& path) {
    auto server = ControlServer::listen(loop_, path, [](std::string_view request, const ControlServer::Reply& reply) {
      reply("echo " + std::string(request) + "\n");
    });
    EXPECT_TRUE(server) << (server ? "" : server.error().text);
    server_ = std::move(*server);
    thread_ = std::thread([this] { loop_.run(); });
  }
  ~Running() {
    boost::asio::post(loop_, [this] { server_.reset(); });
    thread_.join();
  }

 private:
  boost::asio::io_context loop_;
  std::unique_ptr<ControlServer> server_;
  std::thread thread_;
};

TEST(Control, OneLineInOneAnswerOut) {
  const std::string path = fresh_path("control");
  const Running running(path);
  EXPECT_EQ(ask_daemon(path, R"({"ask":"now"})").value(), "echo {\"ask\":\"now\"}\n");
  EXPECT_EQ(ask_daemon(path, "again").value(), "echo again\n");
}

TEST(Control, OnlyTheOwnerMayConnect) {
  const std::string path = fresh_path("mode");
  const Running running(path);
  struct stat info {};
  ASSERT_EQ(::stat(path.c_str(), &info), 0);
  EXPECT_EQ(info.st_mode & 0777U, 0600U);
}

TEST(Control, AnEndlessRequestIsCutOff) {
  const std::string path = fresh_path("long");
  const Running running(path);
  const auto answer = ask_daemon(path, std::string(100'000, 'x'));
  EXPECT_TRUE(!answer || answer->empty());
  EXPECT_TRUE(ask_daemon(path, "still there"));
}

TEST(Control, ASecondOneLeavesTheFirstAlone) {
  const std::string path = fresh_path("two");
  const Running running(path);
  boost::asio::io_context loop;
  const auto second = ControlServer::listen(loop, path, [](std::string_view, const ControlServer::Reply&) {});
  ASSERT_FALSE(second);
  EXPECT_THAT(second.error().text, testing::HasSubstr("another brimwatch answers there"));
  EXPECT_EQ(ask_daemon(path, "first").value(), "echo first\n");
}

// connect() waits for ever where the queue of a listener is full (unix(7), and EAGAIN where it may not wait).
TEST(Control, OneThatHangsDoesNotHoldTheNextOneUp) {
  const std::string path = fresh_path("hangs");
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  path.copy(address.sun_path, sizeof address.sun_path - 1);
  const auto* where = reinterpret_cast<const sockaddr*>(&address);
  std::vector<int> sockets{::socket(AF_UNIX, SOCK_STREAM, 0)};
  ASSERT_EQ(::bind(sockets[0], where, sizeof address), 0);
  ASSERT_EQ(::listen(sockets[0], 0), 0);
  do sockets.push_back(::socket(AF_UNIX, SOCK_STREAM | SOCK_NONBLOCK, 0));
  while (::connect(sockets.back(), where, sizeof address) == 0 && sockets.size() < 100);
  ASSERT_EQ(errno, EAGAIN) << "the queue is not full";
  boost::asio::io_context loop;
  const auto second = ControlServer::listen(loop, path, [](std::string_view, const ControlServer::Reply&) {});
  ASSERT_FALSE(second);
  EXPECT_THAT(second.error().text, testing::HasSubstr("another brimwatch answers there"));
  for (const int one : sockets) ::close(one);
}

TEST(Control, WhatADeadOneLeftBehindIsNotInTheWay) {
  const std::string path = fresh_path("dead");
  {
    boost::asio::io_context loop;
    boost::asio::local::stream_protocol::acceptor left(loop, path);  // closed without removing its file
  }
  struct stat info {};
  ASSERT_EQ(::stat(path.c_str(), &info), 0);
  {
    const Running running(path);
    EXPECT_EQ(ask_daemon(path, "new").value(), "echo new\n");
  }
  EXPECT_NE(::stat(path.c_str(), &info), 0) << "its own it takes away";
}

TEST(Control, AnOrdinaryFileIsNotTakenForASocketLeftBehind) {
  const std::string path = fresh_path("letter");
  std::ofstream(path) << "dear";
  boost::asio::io_context loop;
  const auto server = ControlServer::listen(loop, path, [](std::string_view, const ControlServer::Reply&) {});
  ASSERT_FALSE(server);
  EXPECT_THAT(server.error().text, testing::HasSubstr("is no socket; it was left alone"));
  std::string text;
  EXPECT_TRUE(std::ifstream(path) >> text);
  EXPECT_EQ(text, "dear");
  ::unlink(path.c_str());
}

TEST(Control, AnotherOnesSocketIsNotTakenAway) {
  const std::string path = fresh_path("moved");
  std::optional<Running> first(std::in_place, path);
  ASSERT_EQ(::unlink(path.c_str()), 0);
  std::optional<Running> second(std::in_place, path);
  first.reset();
  EXPECT_EQ(ask_daemon(path, "second").value(), "echo second\n");
}

// Under the address sanitizer: a peer that asks when the server is gone reads nothing of it.
TEST(Control, APeerMayOutliveTheServer) {
  namespace asio = boost::asio;
  const std::string path = fresh_path("outlives");
  asio::io_context loop;
  auto server =
      ControlServer::listen(loop, path, [](std::string_view, const ControlServer::Reply& reply) { reply("answer\n"); });
  ASSERT_TRUE(server);
  asio::local::stream_protocol::socket peer(loop);
  peer.connect(path);
  loop.poll();  // it is accepted, and has not asked yet
  server->reset();
  loop.poll();
  asio::write(peer, asio::buffer(std::string("late\n")));
  while (loop.poll() > 0) {
  }
  std::string answer(16, ' ');
  boost::system::error_code error;
  EXPECT_EQ(peer.read_some(asio::buffer(answer), error), 0U);
  EXPECT_EQ(error, asio::error::eof);
}

TEST(Control, NoDaemonIsSaidPlainly) {
  const auto answer = ask_daemon(fresh_path("nobody"), "now");
  ASSERT_FALSE(answer);
  EXPECT_THAT(answer.error().text, testing::HasSubstr("is the daemon running?"));
}

TEST(Lock, TheSecondIsTurnedAwayAndToldWhoHoldsIt) {
  const std::string path = fresh_path("lock");
  const auto first = InstanceLock::take(path);
  ASSERT_TRUE(first);
  const auto second = InstanceLock::take(path);
  ASSERT_FALSE(second);
  EXPECT_THAT(second.error().text, testing::HasSubstr("process " + std::to_string(::getpid())));
}

TEST(Lock, ALinkIsNotFollowedAndItsTargetIsWhole) {
  const std::string path = fresh_path("linked.lock"), target = fresh_path("letter");
  std::ofstream(target) << "dear";
  ASSERT_EQ(::symlink(target.c_str(), path.c_str()), 0);
  const auto taken = InstanceLock::take(path);
  ASSERT_FALSE(taken);
  EXPECT_FALSE(taken.error().held);
  std::string text;
  EXPECT_TRUE(std::ifstream(target) >> text);
  EXPECT_EQ(text, "dear");
  ::unlink(path.c_str());
  ::unlink(target.c_str());
}

}  // namespace
}  // namespace brimwatch
