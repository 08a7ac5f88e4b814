#pragma once
// Beast under short names, for the servers of this folder and nobody else: it costs a minute of compile time.
#include <boost/asio/ip/tcp.hpp>
#include <boost/beast/core.hpp>
#include <boost/beast/http.hpp>
#include <boost/beast/websocket.hpp>
#include <string_view>

namespace brimwatch {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = beast::http;
namespace websocket = beast::websocket;
using asio::ip::tcp;
using boost::system::error_code;
using Response = http::response<http::string_body>;

inline std::string_view view(beast::string_view text) { return {text.data(), text.size()}; }

}  // namespace brimwatch
