// Whose connection it is, as the kernel says: asked, and read from its table, whose form is that of proc(5).
#include "adapters/net/peer_user.h"

#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <boost/asio/io_context.hpp>
#include <fstream>
#include <sstream>

namespace brimwatch {
namespace {

namespace asio = boost::asio;
using asio::ip::tcp;

struct Connection {
  explicit Connection(const asio::ip::address& at) : acceptor(io, tcp::endpoint(at, 0)), theirs(io), ours(io) {
    theirs.connect(acceptor.local_endpoint());
    acceptor.accept(ours);
  }
  asio::io_context io;
  tcp::acceptor acceptor;
  tcp::socket theirs, ours;
};

std::string table(const char* path) {
  std::ostringstream text;
  text << std::ifstream(path).rdbuf();
  return text.str();
}

TEST(PeerUser, IsUsOverBothLoopbacks) {
  const Connection four(asio::ip::address_v4::loopback());
  EXPECT_EQ(user_of_peer(four.ours.remote_endpoint(), four.ours.local_endpoint()), ::geteuid());
  EXPECT_EQ(user_in_table(table("/proc/net/tcp"), four.ours.remote_endpoint(), four.ours.local_endpoint()), ::geteuid());
  try {
    const Connection six(asio::ip::address_v6::loopback());
    EXPECT_EQ(user_of_peer(six.ours.remote_endpoint(), six.ours.local_endpoint()), ::geteuid());
    EXPECT_EQ(user_in_table(table("/proc/net/tcp6"), six.ours.remote_endpoint(), six.ours.local_endpoint()), ::geteuid());
  } catch (const boost::system::system_error&) {
    GTEST_SKIP() << "this machine has no ::1";
  }
}

TEST(PeerUser, AnotherUserIsAnotherUser) {
  if (::geteuid() != 0) GTEST_SKIP() << "only root can become another user";
  constexpr uid_t kOther = 12345;
  asio::io_context io;
  tcp::acceptor acceptor(io, tcp::endpoint(asio::ip::address_v4::loopback(), 0));
  int said[2];
  ASSERT_EQ(::pipe(said), 0);
  const pid_t child = ::fork();
  if (child == 0) {
    if (::setuid(kOther) != 0) ::_exit(1);
    tcp::socket socket(io);
    socket.connect(acceptor.local_endpoint());
    char wait = 0;
    ::_exit(::read(said[0], &wait, 1) == 1 ? 0 : 1);
  }
  tcp::socket ours(io);
  acceptor.accept(ours);
  EXPECT_EQ(user_of_peer(ours.remote_endpoint(), ours.local_endpoint()), kOther);
  EXPECT_EQ(user_in_table(table("/proc/net/tcp"), ours.remote_endpoint(), ours.local_endpoint()), kOther);
  EXPECT_EQ(::write(said[1], "x", 1), 1);
  ::waitpid(child, nullptr, 0);
  ::close(said[0]);
  ::close(said[1]);
}

TEST(PeerUser, WhatIsNotThereIsNobodys) {
  const tcp::endpoint nowhere(asio::ip::make_address("127.0.0.1"), 1), neither(asio::ip::make_address("127.0.0.1"), 2);
  EXPECT_EQ(user_of_peer(nowhere, neither), std::nullopt);
  for (const char* text : {"", "\n", "0100007F:0001 0100007F:0002 ", "  0: 0100007F:0001 0100007F:0002 01 x\n",
                           "  0: 0100007F:0001 0100007F:0002 01 00000000:00000000 00:00000000 00000000 -7 0 1\n"})
    EXPECT_EQ(user_in_table(text, nowhere, neither), std::nullopt) << text;
}

}  // namespace
}  // namespace brimwatch
