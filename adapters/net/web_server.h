#pragma once
// The web server of the status page: on this machine only, for few. It answers GET and HEAD, which change nothing, and
// pushes one text to whoever listens on the live path. What its user says back comes as POST: only from our own page (its
// Origin, and a word that only a page of ours can have read), only as JSON, only from our own user, however many may
// read.
//
// A page of another site cannot use it: the Host must be one of our three spellings with our port (so a name that was
// re-bound to 127.0.0.1 is refused before any route is looked at), a WebSocket must also come from our own origin, and
// what a browser says to come from elsewhere (Sec-Fetch-Site) is refused but for a person who follows a link to the page.
// Nor can another user of this machine: the kernel says whose the connection is.
//
// All on the loop's thread; neither callback may block. Bounds: WebLimits; what goes over them is closed and counted.
// Where all places are taken, the oldest that is no listener makes room: half a request keeps nobody out.
#include <sys/types.h>

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>

#include "core/result.h"

namespace brimwatch {

struct WebReply {
  WebReply(int code, std::string kind, std::string text)
      : WebReply(code, std::move(kind), std::make_shared<const std::string>(std::move(text))) {}
  WebReply(int code, std::string kind, std::shared_ptr<const std::string> text)
      : status(code), type(std::move(kind)), body(std::move(text)) {}

  int status;
  std::string type;                         ///< of the body, e.g. "text/html; charset=utf-8"
  std::shared_ptr<const std::string> body;  ///< one for all who asked for it
};

struct WebLimits {
  std::size_t connections_most = 64;
  std::size_t listeners_most = 32;             ///< of those; the next one is told 503
  std::size_t strangers_most = 4;              ///< other users' connections, beside those: told 403; more are closed
  std::uint32_t header_bytes_most = 8192;      ///< more: 431
  std::uint64_t body_bytes_most = 4096;        ///< of a POST; more: 413
  std::chrono::milliseconds patience{10'000};  ///< for a whole request, a whole answer, a sign of life of a listener
  std::chrono::milliseconds live_every{1'000};
  std::chrono::milliseconds rest{200};  ///< after an accept that failed, for want of descriptors
  bool everybody = false;               ///< every user of this machine may read
};

struct WebCounters {
  std::uint64_t answered = 0;     ///< answers of any status
  std::uint64_t refused = 0;      ///< by Host, Origin, method or form of the request
  std::uint64_t turned_away = 0;  ///< connections over the bound
  std::uint64_t made_room = 0;    ///< connections closed for a newer one
  std::uint64_t strangers = 0;    ///< connections of other users
  std::uint64_t rests = 0;        ///< accepts that failed
  std::uint64_t pushed = 0;       ///< live texts handed to listeners
  std::uint64_t skipped = 0;      ///< live texts that a slow listener never got: a newer one took their place
  std::size_t connections = 0, listeners = 0;
};

class Visit;

class WebServer {
 public:
  struct Content {
    using Reply = std::function<void(const WebReply&)>;
    using Text = std::function<void(const std::shared_ptr<const std::string>&)>;
    /// The answer to GET of a path ("/now"), given to `reply` once, now or later, on the loop's thread; the server adds
    /// the headers and, for HEAD, leaves the body out.
    std::function<void(std::string_view path, Reply reply)> answer;
    /// The same for POST of a path with a body of JSON; empty: there is nothing to be changed here.
    std::function<void(std::string_view path, std::string_view body, Reply reply)> change{};
    /// What a POST must bring in X-Brimwatch-Token; an answer to GET gives it to our own page.
    std::string token{};
    /// Asked every `live_every` while somebody listens on /live, and with `fresh` for one who has just come; an empty
    /// text means that there is nothing to say.
    std::function<void(bool fresh, Text text)> live;
    /// Who is at the other end; empty: it cannot be told. By default as the kernel says (peer_user.h).
    std::function<std::optional<uid_t>(const boost::asio::ip::tcp::endpoint& theirs,
                                       const boost::asio::ip::tcp::endpoint& ours)>
        user_of{};
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
