#pragma once
// Which user of this machine is at the other end of a connection over 127.0.0.1 or ::1: the kernel knows.
#include <sys/types.h>

#include <boost/asio/ip/tcp.hpp>
#include <optional>

namespace brimwatch {

/// The user whose socket stands at `theirs` and is connected to `ours`. Asked by sock_diag(7), and where that is not
/// allowed read from /proc/net/tcp. Empty: it cannot be told, or that socket is no more. Users from outside a user
/// namespace of our own are all its overflow user (user_namespaces(7)).
[[nodiscard]] std::optional<uid_t> user_of_peer(const boost::asio::ip::tcp::endpoint& theirs,
                                                const boost::asio::ip::tcp::endpoint& ours);

/// The second way alone: `table` is the text of /proc/net/tcp or tcp6 (proc(5)).
[[nodiscard]] std::optional<uid_t> user_in_table(std::string_view table, const boost::asio::ip::tcp::endpoint& theirs,
                                                 const boost::asio::ip::tcp::endpoint& ours);

}  // namespace brimwatch
