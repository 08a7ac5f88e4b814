#pragma once
// One WebSocket connection as a client (RFC 6455), from dialling to its end. What is below it is hidden: the library is
// compiled as C++17, for its implementation does not compile as C++20, so this header keeps to plain std types.
//
// TLS is verified with the host's name; redirects, sub-protocols and extensions not asked for are refused; nothing is
// retried: the owner makes a new one. All on the loop's thread; handlers are never called from within open(), send()
// or leave().
#include <chrono>
#include <cstddef>
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <string_view>

namespace boost::asio {
class io_context;
}

namespace brimwatch {

struct WebSocketOptions {
  std::string url;                                ///< wss://..., or ws:// to a loopback address
  std::map<std::string, std::string> headers;     ///< beside those of the protocol
  std::string proxy;                              ///< http://host:port, empty for none
  std::string ca_file;                            ///< PEM; empty: the system's certificates
  bool insecure_loopback = false;                 ///< allows ws:// to 127.0.0.1, ::1, localhost
  bool deflate = false;                           ///< offers permessage-deflate (RFC 7692) for what the server sends
  std::size_t message_bytes_most = 1U << 20;      ///< as it comes; at most 64 MiB when it has been packed
  std::chrono::milliseconds phase_timeout{5000};  ///< each of connecting, TLS, handshake
  std::chrono::milliseconds keep_alive{5000};     ///< a ping so often; without any sign of life for three of them: dead
};

/// Why and how it ended.
struct WebSocketEnd {
  std::string text;  ///< one line for a person
  bool was_open = false;
  int close_code = 0;   ///< as in RFC 6455 section 7.4: the peer's, 1006 when the connection just broke, 0 before open
  int http_status = 0;  ///< of a handshake that was refused, else 0
  std::string retry_after;  ///< the header's value, as it came
  std::string refusal;      ///< body of a handshake's answer of 400 and more, as it came: at most some 8 KiB of it
};

struct WebSocketHandlers {
  std::function<void()> on_open;
  std::function<void(std::string_view step)> on_step;  ///< may be empty: resolved and connected, TLS; before on_open
  std::function<void(std::string_view message)> on_message;  ///< text or binary, whole, at most message_bytes_most
  std::function<void(const WebSocketEnd& end)> on_end;       ///< exactly once after open(), unless the object goes first
};

class WebSocket {
 public:
  WebSocket(boost::asio::io_context& io, WebSocketOptions options, WebSocketHandlers handlers);
  ~WebSocket();  ///< drops the connection without a word and without a call
  WebSocket(const WebSocket&) = delete;
  WebSocket& operator=(const WebSocket&) = delete;

  void open();
  void send(std::string_view text);  ///< a text message; nothing once the connection has ended

  /// Says goodbye (1000). No handler is called any more but `gone`, once, when the peer has answered, or after 5 s.
  void leave(std::function<void()> gone);

  [[nodiscard]] std::size_t unsent() const;  ///< bytes that wait for the peer to take them

 private:
  class Link;
  template <typename Config>
  class LinkOf;
  std::shared_ptr<Link> link_;
};

}  // namespace brimwatch
