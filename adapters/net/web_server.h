#pragma once
// The web server of the status page, for few. It answers GET, HEAD and POST, and pushes one text to whoever listens on
// the live path.
//
// A page of another site cannot use it: the Host must be one of our three spellings with our port (so a name that was
// re-bound to 127.0.0.1 is refused before any route is looked at), a WebSocket and a POST must also come from our own
// origin, a POST must be JSON (which no form can send), and what a browser says to come from elsewhere (Sec-Fetch-Site)
// is refused but for a person who follows a link to a page. Nor can another user of this machine: the kernel says whose
// the connection is.
//
// Beyond this machine (WebPlace with an authority) Host and origin are those of the one address, a device shows who it is
// by its cookie, and how often one comes is bounded by address: `Content::visitor` says who it is, and what may be seen
// by one who is nobody is the content's business.
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

#include "adapters/net/web_request.h"
#include "core/result.h"
#include "core/text/timestamp.h"

namespace brimwatch {

class TlsKeys;

struct WebLimits {
  std::size_t connections_most = 64;
  std::size_t listeners_most = 32;             ///< of those; the next one is told 503
  std::size_t strangers_most = 4;              ///< other users' connections, beside those: told 403; more are closed
  std::uint32_t header_bytes_most = 8192;      ///< more: 431
  std::chrono::milliseconds patience{10'000};  ///< for a whole request, a whole answer, a sign of life of a listener
  std::chrono::milliseconds live_every{1'000};
  std::chrono::milliseconds rest{200};  ///< after an accept that failed, for want of descriptors
  bool everybody = false;               ///< every user of this machine may read
  std::size_t body_bytes_most = 4096;   ///< of a POST; more: 413
  // Beyond this machine.
  std::size_t of_one_address = 24;     ///< connections; an IPv6 network of 64 bits is one address
  double at_once = 80, a_second = 20;  ///< of one address: connections; what is over it is closed without a word
  double at_once_of_all = 240, a_second_of_all = 60;
  double posts_at_once = 30, posts_a_second = 0.5;  ///< of one device: more are told 429
};

/// Where it listens. Empty authority: on this machine, 127.0.0.1 and ::1, for its users.
struct WebPlace {
  int port = 0;
  std::string host{};               ///< an IP address
  std::string authority{};          ///< "desk.example.org:8443": the only Host that is answered to, of https://
  std::shared_ptr<TlsKeys> keys{};  ///< null: in the clear
};

struct WebCounters {
  std::uint64_t answered = 0;     ///< answers of any status
  std::uint64_t refused = 0;      ///< by Host, Origin, method or form of the request
  std::uint64_t turned_away = 0;  ///< connections over a bound
  std::uint64_t made_room = 0;    ///< connections closed for a newer one
  std::uint64_t strangers = 0;    ///< connections of other users
  std::uint64_t rests = 0;        ///< accepts that failed
  std::uint64_t pushed = 0;       ///< live texts handed to listeners
  std::uint64_t skipped = 0;      ///< live texts that a slow listener never got: a newer one took their place
  std::size_t connections = 0, listeners = 0;
};

class WebVisit;

class WebServer {
 public:
  struct Content {
    using Reply = std::function<void(const WebReply&)>;
    using Text = std::function<void(const std::shared_ptr<const std::string>&)>;
    /// The answer to a request, given to `reply` once, now or later, on the loop's thread; the server adds the headers
    /// and, for HEAD, leaves the body out.
    std::function<void(const WebRequest& request, Reply reply)> answer;
    /// Asked every `live_every` while somebody listens on /live, and with `fresh` for one who has just come; an empty
    /// text means that there is nothing to say.
    std::function<void(bool fresh, Text text)> live;
    /// Who is at the other end; empty: it cannot be told. By default as the kernel says (peer_user.h).
    std::function<std::optional<uid_t>(const boost::asio::ip::tcp::endpoint& theirs,
                                       const boost::asio::ip::tcp::endpoint& ours)>
        user_of{};
    /// Whose cookie that is ("" when there is none); empty: everybody is this machine's user, who may do all.
    std::function<Visitor(std::string_view cookie)> visitor{};
    std::function<Nanos()> steady{};  ///< by default the system's
  };

  /// Port 0: one that is free. Fails when the address cannot be had; goes without ::1 where the machine has none.
  static Result<std::unique_ptr<WebServer>> listen(boost::asio::io_context& loop, const WebPlace& place, Content content,
                                                   WebLimits limits = {});
  static Result<std::unique_ptr<WebServer>> listen(boost::asio::io_context& loop, int port, Content content,
                                                   WebLimits limits = {}) {
    return listen(loop, WebPlace{port, {}, {}, {}}, std::move(content), limits);
  }
  ~WebServer();
  WebServer(const WebServer&) = delete;
  WebServer& operator=(const WebServer&) = delete;

  [[nodiscard]] int port() const;
  [[nodiscard]] WebCounters counters() const;

 private:
  friend class WebVisit;
  struct Impl;
  explicit WebServer(std::shared_ptr<Impl> impl) : impl_(std::move(impl)) {}
  std::shared_ptr<Impl> impl_;
};

}  // namespace brimwatch
