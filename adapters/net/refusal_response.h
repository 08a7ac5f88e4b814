#pragma once
// The answer to a WebSocket's handshake, read on where it is a refusal: its body says why, and may come in a packet of
// its own. The library looks at the head alone.
#include <algorithm>
#include <cstddef>
#include <cstdlib>
#include <string>
#include <websocketpp/http/parser.hpp>

namespace brimwatch {

class RefusalResponse : public websocketpp::http::parser::response {
  using Base = websocketpp::http::parser::response;

 public:
  std::size_t consume(const char* bytes, std::size_t size) {
    const std::size_t used = Base::consume(bytes, size);
    // With a length the library keeps the body; without one it leaves it to us.
    if (is_refusal() && size > used)
      rest_.append(bytes + used, std::min(size - used, kMost - std::min(kMost, rest_.size())));
    return used;
  }

  /// Whether the library may judge it.
  [[nodiscard]] bool headers_ready() const { return Base::headers_ready() && (!is_refusal() || is_whole()); }

  /// What has come of a refusal's body.
  [[nodiscard]] std::string refusal() const {
    const std::string all = get_body() + rest_;
    if (!is_chunked()) return all;
    const std::size_t line = all.find("\r\n");  // the first chunk (RFC 9112, section 7.1) is enough for a reason
    if (line == std::string::npos) return {};
    return all.substr(line + 2, std::strtoul(all.c_str(), nullptr, 16));
  }

 private:
  static constexpr std::size_t kMost = 8192;

  [[nodiscard]] bool is_refusal() const { return Base::headers_ready() && static_cast<int>(get_status_code()) >= 400; }
  [[nodiscard]] bool is_chunked() const { return get_header("Transfer-Encoding").find("chunked") != std::string::npos; }

  /// Or enough of it. One without a length that is not chunked ends with the connection: it is not waited for.
  [[nodiscard]] bool is_whole() const {
    const std::size_t come = get_body().size() + rest_.size();
    if (come >= kMost) return true;
    if (is_chunked()) return rest_.find("\r\n0\r\n") != std::string::npos || rest_.compare(0, 3, "0\r\n") == 0;
    return come >= std::strtoul(get_header("Content-Length").c_str(), nullptr, 10);
  }

  std::string rest_;
};

}  // namespace brimwatch
