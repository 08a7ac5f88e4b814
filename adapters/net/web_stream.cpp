#include "adapters/net/web_stream.h"

#include <boost/asio/ssl/stream.hpp>

namespace brimwatch {

struct WebStream::Tls {
  asio::ssl::stream<beast::tcp_stream&> stream;
};

WebStream::WebStream(tcp::socket socket, std::shared_ptr<asio::ssl::context> keys)
    : stream_(std::move(socket)), keys_(std::move(keys)) {
  if (keys_ != nullptr) tls_.reset(new Tls{{stream_, *keys_}});
}

WebStream::~WebStream() = default;

void WebStream::async_handshake(std::function<void(error_code)> done) {
  tls_->stream.async_handshake(asio::ssl::stream_base::server, std::move(done));
}

void WebStream::read_some(const std::vector<asio::mutable_buffer>& into, Done done) {
  if (tls_ != nullptr) tls_->stream.async_read_some(into, std::move(done));
  else stream_.async_read_some(into, std::move(done));
}

void WebStream::write_some(const std::vector<asio::const_buffer>& from, Done done) {
  if (tls_ != nullptr) tls_->stream.async_write_some(from, std::move(done));
  else stream_.async_write_some(from, std::move(done));
}

}  // namespace brimwatch
