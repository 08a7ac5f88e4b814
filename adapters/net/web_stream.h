#pragma once
// A connection with TLS or without, as one type: what is built on it is compiled once. For the servers of this folder.
#include <boost/asio/ssl/context.hpp>
#include <boost/asio/ssl/stream.hpp>
#include <memory>
#include <optional>
#include <utility>

#include "adapters/net/beast.h"

namespace brimwatch {

class WebStream {
 public:
  using next_layer_type = beast::tcp_stream;  // whose timer is everybody's
  using executor_type = beast::tcp_stream::executor_type;

  /// `keys` of null: in the clear.
  WebStream(tcp::socket socket, std::shared_ptr<asio::ssl::context> keys)
      : stream_(std::move(socket)), keys_(std::move(keys)) {
    if (keys_ != nullptr) tls_.emplace(stream_, *keys_);
  }

  [[nodiscard]] executor_type get_executor() { return stream_.get_executor(); }
  [[nodiscard]] next_layer_type& next_layer() { return stream_; }
  [[nodiscard]] const next_layer_type& next_layer() const { return stream_; }
  [[nodiscard]] tcp::socket& socket() { return stream_.socket(); }
  void expires_after(std::chrono::milliseconds time) { stream_.expires_after(time); }
  void expires_never() { stream_.expires_never(); }

  [[nodiscard]] bool needs_handshake() const { return tls_.has_value(); }
  template <typename Handler>
  void async_handshake(Handler handler) {
    tls_->async_handshake(asio::ssl::stream_base::server, std::move(handler));
  }

  template <typename Buffers, typename Token>
  auto async_read_some(const Buffers& buffers, Token&& token) {
    return asio::async_initiate<Token, void(error_code, std::size_t)>(
        [this](auto handler, const Buffers& into) {
          if (tls_) tls_->async_read_some(into, std::move(handler));
          else stream_.async_read_some(into, std::move(handler));
        },
        token, buffers);
  }
  template <typename Buffers, typename Token>
  auto async_write_some(const Buffers& buffers, Token&& token) {
    return asio::async_initiate<Token, void(error_code, std::size_t)>(
        [this](auto handler, const Buffers& from) {
          if (tls_) tls_->async_write_some(from, std::move(handler));
          else stream_.async_write_some(from, std::move(handler));
        },
        token, buffers);
  }

 private:
  beast::tcp_stream stream_;
  std::shared_ptr<asio::ssl::context> keys_;
  std::optional<asio::ssl::stream<beast::tcp_stream&>> tls_;
};

/// At the end of a WebSocket, found by its library.
template <typename Handler>
void async_teardown(beast::role_type role, WebStream& stream, Handler&& handler) {
  websocket::async_teardown(role, stream.socket(), std::forward<Handler>(handler));
}
inline void teardown(beast::role_type role, WebStream& stream, error_code& error) {
  websocket::teardown(role, stream.socket(), error);
}

}  // namespace brimwatch
