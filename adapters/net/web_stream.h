#pragma once
// A connection with TLS or without, as one type: what is built on it is compiled once. Who waits is kept behind one type
// too: else each of the dozen steps of HTTP and WebSocket would be compiled down to the socket by itself, with TLS and
// without, which was two thirds of a minute. For the servers of this folder.
#include <boost/asio/ssl/context.hpp>
#include <functional>
#include <memory>
#include <utility>
#include <vector>

#include "adapters/net/beast.h"

namespace brimwatch {

class WebStream {
 public:
  using next_layer_type = beast::tcp_stream;  // whose timer is everybody's
  using executor_type = beast::tcp_stream::executor_type;
  using Done = std::function<void(error_code, std::size_t)>;

  /// `keys` of null: in the clear.
  WebStream(tcp::socket socket, std::shared_ptr<asio::ssl::context> keys);
  ~WebStream();
  WebStream(const WebStream&) = delete;
  WebStream& operator=(const WebStream&) = delete;

  [[nodiscard]] executor_type get_executor() { return stream_.get_executor(); }
  [[nodiscard]] next_layer_type& next_layer() { return stream_; }
  [[nodiscard]] const next_layer_type& next_layer() const { return stream_; }
  [[nodiscard]] tcp::socket& socket() { return stream_.socket(); }
  void expires_after(std::chrono::milliseconds time) { stream_.expires_after(time); }
  void expires_never() { stream_.expires_never(); }

  [[nodiscard]] bool needs_handshake() const { return tls_ != nullptr; }
  void async_handshake(std::function<void(error_code)> done);

  template <typename Buffers, typename Token>
  auto async_read_some(const Buffers& buffers, Token&& token) {
    return asio::async_initiate<Token, void(error_code, std::size_t)>(
        [this](auto handler, const Buffers& into) {
          read_some({asio::buffer_sequence_begin(into), asio::buffer_sequence_end(into)}, kept(std::move(handler)));
        },
        token, buffers);
  }
  template <typename Buffers, typename Token>
  auto async_write_some(const Buffers& buffers, Token&& token) {
    return asio::async_initiate<Token, void(error_code, std::size_t)>(
        [this](auto handler, const Buffers& from) {
          write_some({asio::buffer_sequence_begin(from), asio::buffer_sequence_end(from)}, kept(std::move(handler)));
        },
        token, buffers);
  }

 private:
  struct Tls;

  /// Who waits can be moved only; a std::function wants to copy. It is called once, and is gone from here before.
  template <typename Handler>
  static Done kept(Handler handler) {
    return [one = std::make_shared<Handler>(std::move(handler))](error_code error, std::size_t bytes) {
      Handler waiting = std::move(*one);
      waiting(error, bytes);
    };
  }
  void read_some(const std::vector<asio::mutable_buffer>& into, Done done);
  void write_some(const std::vector<asio::const_buffer>& from, Done done);

  beast::tcp_stream stream_;
  std::shared_ptr<asio::ssl::context> keys_;
  std::unique_ptr<Tls> tls_;
};

/// Without compression, which nobody is offered here.
using WebSocketOfServer = websocket::stream<WebStream&, false>;

/// At the end of a WebSocket, found by its library.
template <typename Handler>
void async_teardown(beast::role_type role, WebStream& stream, Handler&& handler) {
  websocket::async_teardown(role, stream.socket(), std::forward<Handler>(handler));
}
inline void teardown(beast::role_type role, WebStream& stream, error_code& error) {
  websocket::teardown(role, stream.socket(), error);
}

}  // namespace brimwatch
