#include "adapters/net/websocket.h"

#include <netinet/tcp.h>
#include <openssl/x509v3.h>
#include <sys/socket.h>

#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/ssl/context.hpp>
#include <boost/asio/steady_timer.hpp>
#include <cstring>
#include <websocketpp/client.hpp>
#include <websocketpp/concurrency/none.hpp>
#include <websocketpp/config/asio_client.hpp>
#include <websocketpp/logger/stub.hpp>

#include "adapters/net/message_inflater.h"
#include "adapters/net/reason_log.h"
#include "adapters/net/refusal_response.h"
#include "config/address.h"
#include "config/wipe.h"

namespace brimwatch {
namespace {

namespace asio = boost::asio;
namespace ws = websocketpp;

/// One thread, no log but of reasons, compression only where it is asked for, a large read buffer. The time
/// limits inside are a last resort: the shorter ones are ours.
template <typename Base, typename Socket>
struct QuietConfig : Base {
  using type = QuietConfig;
  using concurrency_type = ws::concurrency::none;
  using alog_type = ws::log::stub;
  using elog_type = ReasonLog;
  using permessage_deflate_type = MessageInflater;
  using rng_type = ws::random::random_device::int_generator<std::uint32_t, concurrency_type>;
  using request_type = typename Base::request_type;
  using response_type = RefusalResponse;
  static const bool enable_multithreading = false;
  static const std::size_t connection_read_buffer_size = 65536;

  struct transport_config : Base::transport_config {
    using concurrency_type = type::concurrency_type;
    using alog_type = type::alog_type;
    using elog_type = type::elog_type;
    using request_type = type::request_type;
    using response_type = typename Base::response_type;  // a proxy's
    using socket_type = Socket;
    static const bool enable_multithreading = false;
    static const long timeout_connect = 60000;
    static const long timeout_dns_resolve = 60000;
    static const long timeout_proxy = 60000;
    static const long timeout_socket_pre_init = 60000;
    static const long timeout_socket_post_init = 60000;
    static const long timeout_socket_shutdown = 1000;
  };
  using transport_type = ws::transport::asio::endpoint<transport_config>;
};

using PlainConfig = QuietConfig<ws::config::asio_client, ws::transport::asio::basic_socket::endpoint>;
using TlsConfig = QuietConfig<ws::config::asio_tls_client, ws::transport::asio::tls_socket::endpoint>;

constexpr int kAbnormal = 1006;
constexpr std::size_t kPongBacklog = 16U << 10;  ///< unsent bytes at which pings are not answered any more
constexpr std::size_t kUnsentMost = 16U << 20;   ///< and at which we give up
constexpr auto kCloseWait = std::chrono::seconds(5);

/// A peer that is gone must not cost a quarter of an hour, the kernel's own patience.
void make_impatient(int descriptor) {
  const auto set = [descriptor](int level, int name, int value) {
    (void)::setsockopt(descriptor, level, name, &value, sizeof value);
  };
  set(IPPROTO_TCP, TCP_NODELAY, 1);
  set(IPPROTO_TCP, TCP_USER_TIMEOUT, 10'000);
  set(SOL_SOCKET, SO_KEEPALIVE, 1);
  set(IPPROTO_TCP, TCP_KEEPIDLE, 10);
  set(IPPROTO_TCP, TCP_KEEPINTVL, 5);
  set(IPPROTO_TCP, TCP_KEEPCNT, 3);
}

bool is_address(const std::string& host) {
  boost::system::error_code error;
  (void)asio::ip::make_address(host, error);
  return !error;
}

/// Host name check after RFC 6125, in OpenSSL's own hands; no wildcard for a part of a label.
void demand_host(SSL* tls, const std::string& host) {
  X509_VERIFY_PARAM* parameters = SSL_get0_param(tls);
  if (is_address(host)) {
    X509_VERIFY_PARAM_set1_ip_asc(parameters, host.c_str());
    return;
  }
  X509_VERIFY_PARAM_set_hostflags(parameters, X509_CHECK_FLAG_NO_PARTIAL_WILDCARDS);
  X509_VERIFY_PARAM_set1_host(parameters, host.c_str(), host.size());
}

bool breaks_header(const std::string& text) { return text.find_first_of(std::string("\r\n\0", 3)) != std::string::npos; }

}  // namespace

class WebSocket::Link {
 public:
  virtual ~Link() = default;
  virtual void open() = 0;
  virtual void send(std::string_view text) = 0;
  virtual void leave(std::function<void()> gone) = 0;
  virtual void abandon() = 0;  ///< no more calls to the handlers; the connection is dropped
  [[nodiscard]] virtual std::size_t unsent() const = 0;
};

/// Lives as long as its connection: the connection's handlers hold it, and it holds the endpoint that they use.
template <typename Config>
class WebSocket::LinkOf : public WebSocket::Link, public std::enable_shared_from_this<WebSocket::LinkOf<Config>> {
  using Client = ws::client<Config>;
  using Connection = typename Client::connection_ptr;
  static constexpr bool kTls = std::is_same_v<Config, TlsConfig>;

 public:
  LinkOf(asio::io_context& io, WebSocketOptions options, WebSocketHandlers handlers)
      : io_(io), options_(std::move(options)), handlers_(std::move(handlers)), phase_timer_(io), ping_timer_(io) {}

  void open() override {
    client_.init_asio(&io_);
    const auto address = std::make_shared<ws::uri>(options_.url);
    const auto known = parse_address(options_.url);
    if (!address->get_valid() || !known || known->has_user)
      return fail_soon("the url is not a WebSocket address without a name or password in it");
    host_ = address->get_host();
    if (!address->get_secure() && !(options_.insecure_loopback && is_loopback(*known))) {
      return fail_soon("ws:// is not encrypted: wss:// is needed, or insecure_loopback with 127.0.0.1 or [::1]");
    }
    if constexpr (kTls) prepare_tls();
    ws::lib::error_code error;
    connection_ = client_.get_connection(options_.url, error);
    if (error) return fail_soon(setup_error_.empty() ? error.message() : setup_error_);
    if (!setup_error_.empty()) return fail_soon(setup_error_);
    if (!prepare_connection()) return;
    step_ = "connecting";
    arm_phase();
    client_.connect(connection_);
  }

  void send(std::string_view text) override {
    if (!connection_ || ended_) return;
    if (unsent() > kUnsentMost) return fail_soon("the server does not take what we send");
    (void)connection_->send(text.data(), text.size(), ws::frame::opcode::text);
  }

  void leave(std::function<void()> gone) override {
    let_go_of_handlers();
    handlers_.on_end = [gone = std::move(gone)](const WebSocketEnd&) { gone(); };
    closing_ = true;
    ws::lib::error_code error;
    if (open_ && !ended_) connection_->close(ws::close::status::normal, "", error);
    if (!open_ || ended_ || error) {
      // Nobody to say goodbye to. The end may have been told already: this caller still waits for its own.
      ended_ = false;
      return fail_soon("closed by us");
    }
    phase_timer_.expires_after(kCloseWait);
    phase_timer_.async_wait(guarded([this] { end("closed by us; the server did not answer"); }));
  }

  void abandon() override {
    if (ended_) return;
    ended_ = true;
    let_go_of_handlers();
    drop();
  }

  [[nodiscard]] std::size_t unsent() const override { return connection_ ? connection_->get_buffered_amount() : 0; }

 private:
  /// A timer's handler: keeps the link alive, and is silent when cancelled or after the end.
  template <typename What>
  auto guarded(What what) {
    return [self = this->shared_from_this(), what](const boost::system::error_code& error) {
      if (!error && !self->ended_) what();
    };
  }

  void fail_soon(const std::string& why) {
    asio::post(io_, [self = this->shared_from_this(), why] { self->end(why); });
  }

  void prepare_tls() {
    const std::weak_ptr<LinkOf> weak = this->shared_from_this();
    client_.set_tls_init_handler([weak](ws::connection_hdl) {
      const auto context = std::make_shared<asio::ssl::context>(asio::ssl::context::tls_client);
      if (const auto self = weak.lock()) self->set_up(*context);
      return context;
    });
    client_.set_socket_init_handler(
        [host = host_](ws::connection_hdl, auto& stream) { demand_host(stream.native_handle(), host); });
  }

  void set_up(asio::ssl::context& context) {
    boost::system::error_code error;
    SSL_CTX_set_min_proto_version(context.native_handle(), TLS1_2_VERSION);
    context.set_verify_mode(asio::ssl::verify_peer, error);
    if (options_.ca_file.empty()) {
      context.set_default_verify_paths(error);
    } else {
      context.load_verify_file(options_.ca_file, error);
    }
    if (error) setup_error_ = "ca_file " + options_.ca_file + ": " + error.message();
    const std::weak_ptr<LinkOf> weak = this->shared_from_this();
    context.set_verify_callback(
        [weak](bool fine, asio::ssl::verify_context& about) {
          const auto self = weak.lock();
          if (!fine && self) {
            self->tls_error_ = X509_verify_cert_error_string(X509_STORE_CTX_get_error(about.native_handle()));
          }
          return fine;
        },
        error);
  }

  bool prepare_connection() {
    const auto self = this->shared_from_this();
    for (const auto& [name, value] : options_.headers) {
      if (breaks_header(name) || breaks_header(value)) {
        fail_soon("header " + name.substr(0, name.find_first_of("\r\n")) + " has a line break in it");
        return false;
      }
      connection_->replace_header(name, value);
    }
    if (options_.deflate) connection_->replace_header("Sec-WebSocket-Extensions", kDeflateOffer);
    if (!options_.proxy.empty()) {
      ws::lib::error_code error;
      connection_->set_proxy(options_.proxy, error);
      if (error) {
        fail_soon("proxy \"" + options_.proxy + "\": expected http://host:port");
        return false;
      }
    }
    connection_->set_max_message_size(options_.message_bytes_most);
    connection_->set_open_handshake_timeout(60000);
    connection_->set_close_handshake_timeout(5000);
    connection_->set_tcp_pre_init_handler([self](ws::connection_hdl) { self->on_connected(); });
    connection_->set_tcp_post_init_handler([self](ws::connection_hdl) {
      if (self->ended_ || !self->is_through_tls()) return;  // the library calls this where TLS has failed, too
      self->tell_tls();
      self->enter("handshake");
    });
    connection_->set_open_handler([self](ws::connection_hdl) { self->on_open(); });
    connection_->set_fail_handler([self](ws::connection_hdl) { self->on_fail(); });
    connection_->set_close_handler([self](ws::connection_hdl) { self->on_closed(); });
    connection_->set_message_handler([self](ws::connection_hdl, const typename Client::message_ptr& message) {
      self->alive_ = true;
      if (!self->ended_ && !self->closing_) self->handlers_.on_message(message->get_payload());
    });
    connection_->set_pong_handler([self](ws::connection_hdl, const std::string&) { self->alive_ = true; });
    connection_->set_ping_handler([self](ws::connection_hdl, const std::string&) { return self->is_worth_a_pong(); });
    return true;
  }

  /// A peer that pings and does not read gets no further pongs: they would queue up without end. To answer the latest is
  /// enough (RFC 6455 section 5.5.3).
  bool is_worth_a_pong() {
    alive_ = true;
    return unsent() <= kPongBacklog;
  }

  void on_connected() {
    if (ended_) return drop();
    make_impatient(static_cast<int>(connection_->get_raw_socket().lowest_layer().native_handle()));
    tell_connected();
    enter(kTls ? "TLS" : "handshake");
  }

  void tell(const std::string& step) {
    if (handlers_.on_step) handlers_.on_step(step);
  }

  void tell_connected() {
    boost::system::error_code error;
    const auto peer = connection_->get_raw_socket().lowest_layer().remote_endpoint(error);
    if (!error) tell("resolved to " + peer.address().to_string() + ", connected to port " + std::to_string(peer.port()));
  }

  [[nodiscard]] bool is_through_tls() {
    if constexpr (kTls) return tls_error_.empty() && SSL_is_init_finished(connection_->get_socket().native_handle()) != 0;
    return true;
  }

  void tell_tls() {
    if constexpr (kTls)
      tell(std::string("encrypted with ") + SSL_get_version(connection_->get_socket().native_handle()) +
           ", certificate trusted");
  }

  void enter(const char* step) {
    if (ended_) return;
    step_ = step;
    arm_phase();
  }

  void arm_phase() {
    phase_timer_.expires_after(options_.phase_timeout);
    phase_timer_.async_wait(guarded([this] {
      // A refusal whose body never ends is a refusal all the same.
      if (connection_->get_response_code() > 101) on_fail();
      else end(std::string(step_) + ": no answer within the time limit");
    }));
  }

  void on_open() {
    if (ended_) return drop();
    phase_timer_.cancel();
    // RFC 6455 section 4.1: what was not asked for must not be granted.
    const std::string& extensions = connection_->get_response_header("Sec-WebSocket-Extensions");
    const bool offered = options_.deflate && extensions.compare(0, std::strlen(kDeflateOffer), kDeflateOffer) == 0;
    if (!extensions.empty() && !offered) {
      return end("the server insists on an extension that we did not offer: " + extensions);
    }
    const std::string& protocol = connection_->get_response_header("Sec-WebSocket-Protocol");
    if (!protocol.empty()) return end("the server chose a sub-protocol that we did not offer: " + protocol);
    open_ = true;
    alive_ = true;
    forget_secrets();
    keep_alive();
    handlers_.on_open();
  }

  void keep_alive() {
    missed_ = alive_ ? 0 : missed_ + 1;
    alive_ = false;
    if (missed_ >= 3) {
      const auto waited = std::chrono::duration_cast<std::chrono::seconds>(3 * options_.keep_alive).count();
      return end("no sign of life for " + std::to_string(waited) + " s, pings unanswered");
    }
    ws::lib::error_code ignored;
    connection_->ping("", ignored);
    ping_timer_.expires_after(options_.keep_alive);
    ping_timer_.async_wait(guarded([this] { keep_alive(); }));
  }

  void on_fail() {
    if (ended_) return;
    WebSocketEnd about;
    const int status = static_cast<int>(connection_->get_response_code());
    if (status > 101) {
      about.http_status = status;
      about.retry_after = connection_->get_response_header("Retry-After");
      about.refusal = connection_->get_response().refusal();
      about.text = "the server answered HTTP " + std::to_string(status) + " " + connection_->get_response_msg();
      if (status < 300) about.text += ", where a WebSocket answers 101: the address is of something else";
      if (status >= 300 && status < 400) {
        about.text += ", a redirect to " + address_to_show(connection_->get_response_header("Location")) +
                      ", which is not followed";
      }
    } else if (connection_->get_ec() ==
               ws::transport::asio::error::make_error_code(ws::transport::asio::error::proxy_failed)) {
      about.text = "the proxy " + options_.proxy + " does not let us through";
    } else {
      about.text = step_ + ": " + (tls_error_.empty() ? cause() : tls_error_);
    }
    end(std::move(about));
  }

  /// What the system said, where the library only says that something below it failed.
  [[nodiscard]] std::string cause() {
    namespace transport = ws::transport;
    const auto error = connection_->get_ec();
    const bool from_below = error == transport::error::make_error_code(transport::error::pass_through);
    if (!from_below) return error.message();
    const auto below = connection_->get_transport_ec();
    if (below) return below.message();
    const std::string logged = client_.get_elog().reason();
    return logged.empty() ? "the line failed" : logged;
  }

  void on_closed() {
    if (ended_) return;
    if (closing_) return end("closed by us");
    WebSocketEnd about;
    about.close_code = connection_->get_remote_close_code();
    const std::string reason = connection_->get_remote_close_reason();
    const auto local = connection_->get_local_close_code();
    if (about.close_code == kAbnormal || about.close_code == ws::close::status::blank) {
      // The peer said nothing: either the line broke, or we ended it for a fault of the peer.
      const bool ours = local != kAbnormal && local != ws::close::status::blank && local != ws::close::status::normal;
      about.close_code = kAbnormal;
      about.text = ours ? "ended for a fault of the server, code " + std::to_string(local) + " (" +
                              connection_->get_local_close_reason() + ")" +
                              (local == ws::close::status::message_too_big ? "; frame_kib lets longer ones in" : "")
                        : "the connection broke: " + cause();
    } else if (about.close_code == ws::close::status::no_status) {
      about.text = "the server closed without saying why";
    } else {
      // Those of four thousand and more are the server's own: the library has no words for them.
      const bool known = about.close_code < 3000;
      about.text = "the server closed: " + std::to_string(about.close_code);
      if (known)
        about.text.append(" ").append(
            ws::close::status::get_string(static_cast<ws::close::status::value>(about.close_code)));
      if (!reason.empty()) about.text += ", \"" + reason + "\"";
    }
    end(std::move(about));
  }

  void end(const std::string& why) {
    WebSocketEnd about;
    about.text = why;
    if (open_) about.close_code = closing_ ? ws::close::status::normal : kAbnormal;
    end(std::move(about));
  }

  void end(WebSocketEnd about) {
    if (ended_) return;
    ended_ = true;
    about.was_open = open_;
    const auto on_end = std::move(handlers_.on_end);
    let_go_of_handlers();
    drop();
    if (on_end) on_end(about);
  }

  /// Headers and address have done what they were for.
  void forget_secrets() {
    for (auto& [name, value] : options_.headers) wipe(value);
    wipe(options_.url);
  }

  /// One of them may be running right now: they are destroyed later.
  void let_go_of_handlers() {
    asio::post(io_, [old = std::make_shared<WebSocketHandlers>(std::move(handlers_))] {});
    handlers_ = {};
  }

  /// Closes the socket under the library, which then finds its reads and writes failing and lets go.
  void drop() {
    forget_secrets();
    phase_timer_.cancel();
    ping_timer_.cancel();
    if (!connection_) return;
    const auto connection = std::move(connection_);
    connection_.reset();
    asio::post(io_, [connection] {
      boost::system::error_code ignored;
      auto& socket = connection->get_raw_socket().lowest_layer();
      socket.cancel(ignored);
      socket.close(ignored);
    });
  }

  asio::io_context& io_;
  WebSocketOptions options_;
  WebSocketHandlers handlers_;
  Client client_;
  Connection connection_;
  asio::steady_timer phase_timer_, ping_timer_;
  std::string host_, step_, tls_error_, setup_error_;
  bool open_ = false, closing_ = false, ended_ = false;
  bool alive_ = false;  ///< something came since the last ping
  int missed_ = 0;
};

WebSocket::WebSocket(asio::io_context& io, WebSocketOptions options, WebSocketHandlers handlers) {
  if (options.url.compare(0, 6, "wss://") == 0) {
    link_ = std::make_shared<LinkOf<TlsConfig>>(io, std::move(options), std::move(handlers));
  } else {
    link_ = std::make_shared<LinkOf<PlainConfig>>(io, std::move(options), std::move(handlers));
  }
}

WebSocket::~WebSocket() { link_->abandon(); }
void WebSocket::open() { link_->open(); }
void WebSocket::send(std::string_view text) { link_->send(text); }
void WebSocket::leave(std::function<void()> gone) { link_->leave(std::move(gone)); }
std::size_t WebSocket::unsent() const { return link_->unsent(); }

}  // namespace brimwatch
