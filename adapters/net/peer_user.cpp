#include "adapters/net/peer_user.h"

#include <fcntl.h>
#include <linux/inet_diag.h>
#include <linux/netlink.h>
#include <linux/sock_diag.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <charconv>
#include <cstdio>
#include <cstring>
#include <string>
#include <string_view>

#include "files/descriptor.h"

namespace brimwatch {
namespace {

using boost::asio::ip::tcp;

constexpr std::size_t kTableMost = 16U << 20;  // bytes: some hundred thousand connections

void put_address(const tcp::endpoint& from, __be32 (&into)[4], __be16& port) {
  port = htons(from.port());
  if (from.address().is_v4()) {
    into[0] = htonl(from.address().to_v4().to_uint());
  } else {
    const auto bytes = from.address().to_v6().to_bytes();
    std::memcpy(into, bytes.data(), bytes.size());
  }
}

struct Question {
  nlmsghdr head{};
  inet_diag_req_v2 body{};
};

Question question(const tcp::endpoint& theirs, const tcp::endpoint& ours) {
  Question ask;
  ask.head.nlmsg_len = sizeof ask;
  ask.head.nlmsg_type = SOCK_DIAG_BY_FAMILY;
  ask.head.nlmsg_flags = NLM_F_REQUEST;
  ask.body.sdiag_family = theirs.address().is_v4() ? AF_INET : AF_INET6;
  ask.body.sdiag_protocol = IPPROTO_TCP;
  ask.body.idiag_states = ~0U;
  put_address(theirs, ask.body.id.idiag_src, ask.body.id.idiag_sport);
  put_address(ours, ask.body.id.idiag_dst, ask.body.id.idiag_dport);
  ask.body.id.idiag_cookie[0] = ask.body.id.idiag_cookie[1] = INET_DIAG_NOCOOKIE;
  return ask;
}

/// One connection, by name: the kernel looks it up as it does for a packet.
std::optional<uid_t> ask_kernel(const tcp::endpoint& theirs, const tcp::endpoint& ours) {
  const Descriptor netlink(::socket(AF_NETLINK, SOCK_DGRAM | SOCK_CLOEXEC | SOCK_NONBLOCK, NETLINK_SOCK_DIAG));
  if (netlink.get() < 0) return std::nullopt;
  const Question ask = question(theirs, ours);
  if (::send(netlink.get(), &ask, sizeof ask, 0) != static_cast<ssize_t>(sizeof ask)) return std::nullopt;
  alignas(nlmsghdr) std::array<char, 8192> answer{};
  const ssize_t got = ::recv(netlink.get(), answer.data(), answer.size(), 0);  // answered within send() (netlink(7))
  nlmsghdr head{};
  if (got < static_cast<ssize_t>(sizeof head + sizeof(inet_diag_msg))) return std::nullopt;
  std::memcpy(&head, answer.data(), sizeof head);
  if (head.nlmsg_type != SOCK_DIAG_BY_FAMILY) return std::nullopt;
  inet_diag_msg found{};
  std::memcpy(&found, answer.data() + NLMSG_HDRLEN, sizeof found);
  return found.idiag_uid;
}

/// As /proc/net/tcp writes it: words of 32 bits in the machine's own order, in hexadecimal.
std::string in_hexadecimal(const tcp::endpoint& point) {
  __be32 words[4] = {};
  __be16 port = 0;
  put_address(point, words, port);
  std::string out;
  char text[16];
  for (int i = 0; i < (point.address().is_v4() ? 1 : 4); ++i) {
    std::snprintf(text, sizeof text, "%08X", words[i]);
    out += text;
  }
  std::snprintf(text, sizeof text, ":%04X", point.port());
  return out + text;
}

std::string read_table(const char* path) {
  const Descriptor file(::open(path, O_RDONLY | O_CLOEXEC));
  std::string text;
  std::array<char, 65536> some{};
  while (file.get() >= 0 && text.size() < kTableMost) {
    const ssize_t got = ::read(file.get(), some.data(), some.size());
    if (got <= 0) break;
    text.append(some.data(), static_cast<std::size_t>(got));
  }
  return text;
}

/// The word number `index` of a line.
std::string_view word_of(std::string_view line, int index) {
  for (;; --index) {
    const std::size_t begin = line.find_first_not_of(' ');
    if (begin == std::string_view::npos) return {};
    line.remove_prefix(begin);
    const std::size_t end = line.find(' ');
    if (index == 0) return line.substr(0, end);
    if (end == std::string_view::npos) return {};
    line.remove_prefix(end);
  }
}

}  // namespace

std::optional<uid_t> user_in_table(std::string_view table, const tcp::endpoint& theirs, const tcp::endpoint& ours) {
  constexpr int kUser = 7;
  const std::string wanted = in_hexadecimal(theirs) + " " + in_hexadecimal(ours) + " ";
  const std::size_t at = table.find(wanted);
  if (at == std::string_view::npos) return std::nullopt;
  const std::size_t begin = table.rfind('\n', at) + 1;
  const std::string_view word = word_of(table.substr(begin, table.find('\n', at) - begin), kUser);
  uid_t user = 0;
  const auto [end, wrong] = std::from_chars(word.data(), word.data() + word.size(), user);
  if (wrong != std::errc() || end != word.data() + word.size() || word.empty()) return std::nullopt;
  return user;
}

std::optional<uid_t> user_of_peer(const tcp::endpoint& theirs, const tcp::endpoint& ours) {
  if (const auto user = ask_kernel(theirs, ours)) return user;
  return user_in_table(read_table(theirs.address().is_v4() ? "/proc/net/tcp" : "/proc/net/tcp6"), theirs, ours);
}

}  // namespace brimwatch
