#pragma once
// The web server of the status page: on this machine only, for reading only, for few. It answers GET and HEAD, and
// pushes one text to whoever listens on the live path; there is nothing here that changes anything.
//
// A page of another site cannot use it: the Host must be one of our three spellings with our port (so a name that was
// re-bound to 127.0.0.1 is refused before any route is looked at), and a WebSocket must also come from our own origin.
//
// All on the loop's thread; neither callback may block. Bounds: WebLimits; what goes over them is closed and counted.
#include <boost/asio/io_context.hpp>
#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <string_view>

#include "core/result.h"

namespace brimwatch {

struct WebReply {
  int status = 200;
  std::string type;  ///< of the body, e.g. "text/html; charset=utf-8"
  std::string body;
};

struct WebLimits {
  std::size_t connections_most = 64;           ///< the next one is closed at once
  std::uint32_t header_bytes_most = 8192;      ///< more: 431
  std::chrono::milliseconds patience{10'000};  ///< for a whole request, a whole answer, a sign of life of a listener
  std::chrono::milliseconds live_every{1'000};
};

struct WebCounters {
  std::uint64_t answered = 0;     ///< answers of any status
  std::uint64_t refused = 0;      ///< by Host, Origin, method or form of the request
  std::uint64_t turned_away = 0;  ///< connections over the bound
  std::uint64_t pushed = 0;       ///< live texts handed to listeners
  std::uint64_t skipped = 0;      ///< live texts that a slow listener never got: a newer one took their place
  std::size_t connections = 0, listeners = 0;
};

class Visit;

class WebServer {
 public:
  struct Content {
    /// The answer to GET of a path ("/now"); the server adds the headers and, for HEAD, leaves the body out.
    std::function<WebReply(std::string_view path)> answer;
    /// Called every `live_every` while somebody listens on /live, and with `fresh` for one who has just come; an empty
    /// text means that there is nothing to say.
    std::function<std::string(bool fresh)> live;
  };

  /// Port 0: one that is free. Fails when 127.0.0.1 cannot be had; goes without ::1 where the machine has none.
  static Result<std::unique_ptr<WebServer>> listen(boost::asio::io_context& loop, int port, Content content,
                                                   WebLimits limits = {});
  ~WebServer();
  WebServer(const WebServer&) = delete;
  WebServer& operator=(const WebServer&) = delete;

  [[nodiscard]] int port() const;
  [[nodiscard]] WebCounters counters() const;

 private:
  friend class Visit;
  struct Impl;
  explicit WebServer(std::shared_ptr<Impl> impl) : impl_(std::move(impl)) {}
  std::shared_ptr<Impl> impl_;
};

}  // namespace brimwatch
