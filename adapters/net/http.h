#pragma once
// An HTTP client on the loop (libcurl's multi interface): many requests at once, none of them blocking. TLS is verified;
// redirects are not followed, so that no credential travels to another host; bodies are bounded; gzip is undone.
//
// All on the loop's thread. A handler is never called from within start().
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

struct HttpRequest {
  std::string url;  ///< https://..., or http:// to a loopback address when allowed
  std::map<std::string, std::string> headers;
  std::string body;  ///< not empty: a POST
  std::string proxy, ca_file;
  bool insecure_loopback = false;
  std::size_t body_bytes_most = 1U << 20;  ///< of the answer, after decompression
  /// Of the look-up of the host's name, and of all the rest; of a stream: until it is connected.
  std::chrono::milliseconds timeout{10'000};
  /// For an answer that has no end: a 200 is handed on as it comes and not kept, first once with nothing, when it begins.
  std::function<void(std::string_view bytes)> on_stream;
  std::string stream_type;  ///< an answer that is_other_type() than this is no such stream, and is kept like any other
};

struct HttpAnswer {
  int status = 0;  ///< 0: there was no answer, `error` says why
  std::string error;
  std::string body;
  std::map<std::string, std::string> headers;  ///< names in lower case; of several alike the last

  /// Without parameters, in lower case: "text/html"; empty where it says none.
  [[nodiscard]] std::string media_type() const;
  /// It says plainly that it is something else than `wanted`: without a type, as text/plain or as
  /// application/octet-stream it may be that all the same. An empty `wanted` is anything.
  [[nodiscard]] bool is_other_type(std::string_view wanted) const;
};

class HttpClient {
 public:
  using Handler = std::function<void(const HttpAnswer& answer)>;

  explicit HttpClient(boost::asio::io_context& io);
  ~HttpClient();  ///< what is under way is dropped without a call
  HttpClient(const HttpClient&) = delete;
  HttpClient& operator=(const HttpClient&) = delete;

  /// The handler is called exactly once, unless the client goes first or cancel_all() comes.
  void start(HttpRequest request, Handler handler);
  void cancel_all();
  [[nodiscard]] std::size_t under_way() const;

 private:
  struct Body;
  std::shared_ptr<Body> body_;
};

}  // namespace brimwatch
