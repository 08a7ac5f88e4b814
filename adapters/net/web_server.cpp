#include "adapters/net/web_server.h"

#include <array>
#include <boost/asio/ip/v6_only.hpp>
#include <boost/asio/steady_timer.hpp>
#include <optional>
#include <set>
#include <vector>

#include "adapters/net/beast.h"

namespace brimwatch {
namespace {

using BodilessRequest = http::request<http::empty_body>;

constexpr int kPortTries = 8;
constexpr std::size_t kDrainMost = 65'536;   // of what a refused peer still sends
constexpr std::size_t kMessageMost = 1'024;  // nobody has anything to tell us
constexpr const char* kPolicy =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

void add_headers(http::fields& to) {
  to.set("Content-Security-Policy", kPolicy);
  to.set("X-Content-Type-Options", "nosniff");
  to.set("Referrer-Policy", "no-referrer");
  to.set("Cross-Origin-Resource-Policy", "same-origin");
  to.set(http::field::cache_control, "no-store");
}

std::optional<std::string_view> only(const BodilessRequest& request, http::field field) {
  if (request.count(field) != 1) return std::nullopt;
  return view(request[field]);
}

}  // namespace

class Visit;

struct WebServer::Impl : std::enable_shared_from_this<WebServer::Impl> {
  Impl(asio::io_context& io, Content what, WebLimits bounds)
      : loop(io), content(std::move(what)), limits(bounds), timer(io) {}

  error_code open(const tcp::endpoint& at);
  Status open_both(int wanted);
  void accept(tcp::acceptor& from);
  void tick();
  void close();
  [[nodiscard]] bool knows_host(std::string_view host) const;

  asio::io_context& loop;
  Content content;
  WebLimits limits;
  asio::steady_timer timer;
  std::vector<std::unique_ptr<tcp::acceptor>> acceptors;
  std::set<Visit*> visits;
  WebCounters counters;
  int port = 0;
  bool closed = false, ticking = false;
};

/// One connection: one request and its answer, or a listener on the live path. Keeps itself alive while an operation is
/// under way.
class Visit : public std::enable_shared_from_this<Visit> {
 public:
  Visit(tcp::socket socket, std::shared_ptr<WebServer::Impl> server)
      : server_(std::move(server)), stream_(std::move(socket)), buffer_(server_->limits.header_bytes_most + 1024) {
    server_->visits.insert(this);
  }
  ~Visit() { server_->visits.erase(this); }
  Visit(const Visit&) = delete;
  Visit& operator=(const Visit&) = delete;

  void start();
  void push(const std::shared_ptr<const std::string>& text);
  void close();
  [[nodiscard]] bool listens() const { return listening_; }

 private:
  void on_header(error_code error);
  [[nodiscard]] std::optional<WebReply> refusal(const BodilessRequest& request) const;
  void reply(const WebReply& what, bool head);
  void refuse(const WebReply& what, bool head);
  void drain();
  void upgrade(BodilessRequest request);
  void read_on();
  void write_next();

  std::shared_ptr<WebServer::Impl> server_;
  beast::tcp_stream stream_;
  beast::flat_buffer buffer_;
  http::request_parser<http::empty_body> parser_;
  Response response_;
  std::array<char, 4096> waste_{};
  std::size_t drained_ = 0;
  std::optional<websocket::stream<beast::tcp_stream&>> socket_;
  std::shared_ptr<const std::string> writing_, next_;
  bool listening_ = false;
};

void Visit::start() {
  parser_.header_limit(server_->limits.header_bytes_most);
  stream_.expires_after(server_->limits.patience);
  http::async_read_header(stream_, buffer_, parser_,
                          [self = shared_from_this()](const error_code& error, std::size_t) { self->on_header(error); });
}

void Visit::on_header(error_code error) {
  if (server_->closed) return;
  if (error == http::error::header_limit || error == http::error::buffer_overflow)
    return refuse({431, "text/plain; charset=utf-8", "the headers are longer than 8 KiB\n"}, false);
  if (error.category() == make_error_code(http::error::bad_method).category() && error != http::error::end_of_stream &&
      error != http::error::partial_message)
    return refuse({400, "text/plain; charset=utf-8", "this is not HTTP\n"}, false);
  if (error) return close();
  const BodilessRequest& request = parser_.get();
  const bool head = request.method() == http::verb::head;
  if (const auto no = refusal(request)) return refuse(*no, head);
  if (view(request.target()) == "/live") return upgrade(parser_.release());
  reply(server_->content.answer(view(request.target())), head);
}

/// Host first: a stranger learns nothing of the routes.
std::optional<WebReply> Visit::refusal(const BodilessRequest& request) const {
  const char* const text = "text/plain; charset=utf-8";
  const auto host = only(request, http::field::host);
  if (!host || !server_->knows_host(*host)) return WebReply{421, text, "this server answers only to its own address\n"};
  if (request.method() != http::verb::get && request.method() != http::verb::head)
    return WebReply{405, text, "only GET and HEAD; nothing can be changed here\n"};
  if (!parser_.is_done()) return WebReply{400, text, "a request here has no body\n"};
  if (view(request.target()) != "/live") return std::nullopt;
  if (!websocket::is_upgrade(request)) return WebReply{426, text, "this path is a WebSocket\n"};
  const auto origin = only(request, http::field::origin);
  if (!origin || *origin != "http://" + std::string(*host)) return WebReply{403, text, "not from this page\n"};
  return std::nullopt;
}

void Visit::refuse(const WebReply& what, bool head) {
  ++server_->counters.refused;
  reply(what, head);
}

void Visit::reply(const WebReply& what, bool head) {
  ++server_->counters.answered;
  response_.version(11);
  response_.result(static_cast<unsigned>(what.status));
  add_headers(response_);
  response_.set(http::field::content_type, what.type);
  if (what.status == 405) response_.set(http::field::allow, "GET, HEAD");
  if (what.status == 426) response_.set(http::field::upgrade, "websocket");
  response_.keep_alive(false);
  response_.content_length(what.body.size());
  if (!head) response_.body() = what.body;
  stream_.expires_after(server_->limits.patience);
  http::async_write(stream_, response_, [self = shared_from_this()](const error_code& error, std::size_t) {
    if (error || self->server_->closed) return self->close();
    error_code ignored;
    self->stream_.socket().shutdown(tcp::socket::shutdown_send, ignored);
    self->drain();
  });
}

/// Closing with bytes unread would reset the connection and could take our answer with it.
void Visit::drain() {
  stream_.async_read_some(asio::buffer(waste_), [self = shared_from_this()](const error_code& error, std::size_t bytes) {
    self->drained_ += bytes;
    if (error || self->drained_ > kDrainMost) return self->close();
    self->drain();
  });
}

void Visit::upgrade(BodilessRequest request) {
  stream_.expires_never();  // from here on the WebSocket has its own timer
  socket_.emplace(stream_);
  socket_->set_option(websocket::stream_base::timeout{server_->limits.patience, server_->limits.patience, true});
  socket_->set_option(
      websocket::stream_base::decorator([](websocket::response_type& response) { add_headers(response); }));
  socket_->read_message_max(kMessageMost);
  buffer_.clear();
  const auto kept = std::make_shared<BodilessRequest>(std::move(request));
  socket_->async_accept(*kept, [self = shared_from_this(), kept](const error_code& error) {
    if (error || self->server_->closed) return self->close();
    ++self->server_->counters.answered;
    self->listening_ = true;
    self->push(std::make_shared<const std::string>(self->server_->content.live(true)));
    self->server_->tick();
    self->read_on();
  });
}

/// Reading answers pings and sees the end; what a peer says is thrown away.
void Visit::read_on() {
  socket_->async_read(buffer_, [self = shared_from_this()](const error_code& error, std::size_t) {
    if (error) return self->close();
    self->buffer_.clear();
    self->read_on();
  });
}

void Visit::push(const std::shared_ptr<const std::string>& text) {
  if (text->empty()) return;
  if (next_ != nullptr) ++server_->counters.skipped;
  next_ = text;
  if (writing_ == nullptr) write_next();
}

void Visit::write_next() {
  writing_ = std::exchange(next_, nullptr);
  if (writing_ == nullptr) return;
  ++server_->counters.pushed;
  socket_->text(true);
  socket_->async_write(asio::buffer(*writing_), [self = shared_from_this()](const error_code& error, std::size_t) {
    if (error) return self->close();
    self->write_next();
  });
}

void Visit::close() {
  listening_ = false;
  error_code ignored;
  stream_.socket().close(ignored);
}

bool WebServer::Impl::knows_host(std::string_view host) const {
  const std::string end = ":" + std::to_string(port);
  return host == "127.0.0.1" + end || host == "[::1]" + end || host == "localhost" + end;
}

error_code WebServer::Impl::open(const tcp::endpoint& at) {
  auto acceptor = std::make_unique<tcp::acceptor>(loop);
  error_code error;
  acceptor->open(at.protocol(), error);
  if (!error) acceptor->set_option(asio::socket_base::reuse_address(true), error);
  if (!error && at.address().is_v6()) acceptor->set_option(asio::ip::v6_only(true), error);
  if (!error) acceptor->bind(at, error);
  if (!error) acceptor->listen(asio::socket_base::max_listen_connections, error);
  if (!error) acceptors.push_back(std::move(acceptor));
  return error;
}

Status WebServer::Impl::open_both(int wanted) {
  const auto number = static_cast<asio::ip::port_type>(wanted);
  for (int tries = 0; tries < kPortTries; ++tries) {
    acceptors.clear();
    if (const auto error = open({asio::ip::address_v4::loopback(), number}))
      return fail("127.0.0.1:" + std::to_string(wanted) + ": " + error.message());
    port = acceptors.front()->local_endpoint().port();
    const auto error = open({asio::ip::address_v6::loopback(), static_cast<asio::ip::port_type>(port)});
    if (error != asio::error::address_in_use) return {};
    if (wanted != 0) return fail("[::1]:" + std::to_string(wanted) + ": " + error.message());
  }
  return fail("no port is free on both 127.0.0.1 and ::1");
}

void WebServer::Impl::accept(tcp::acceptor& from) {
  from.async_accept([self = shared_from_this(), &from](const error_code& error, tcp::socket socket) {
    if (self->closed || error == asio::error::operation_aborted) return;
    if (!error && self->visits.size() < self->limits.connections_most)
      std::make_shared<Visit>(std::move(socket), self)->start();
    else ++self->counters.turned_away;
    self->accept(from);
  });
}

void WebServer::Impl::tick() {
  if (ticking || closed) return;
  ticking = true;
  timer.expires_after(limits.live_every);
  timer.async_wait([self = shared_from_this()](const error_code& error) {
    self->ticking = false;
    if (error || self->closed) return;
    std::vector<std::shared_ptr<Visit>> listeners;
    for (Visit* visit : self->visits)
      if (visit->listens()) listeners.push_back(visit->shared_from_this());
    if (listeners.empty()) return;
    const auto text = std::make_shared<const std::string>(self->content.live(false));
    for (const auto& listener : listeners) listener->push(text);
    self->tick();
  });
}

void WebServer::Impl::close() {
  closed = true;
  timer.cancel();
  for (auto& acceptor : acceptors) {
    error_code ignored;
    acceptor->close(ignored);
  }
  for (Visit* visit : visits) visit->close();
}

Result<std::unique_ptr<WebServer>> WebServer::listen(asio::io_context& loop, int port, Content content,
                                                     WebLimits limits) {
  const auto impl = std::make_shared<Impl>(loop, std::move(content), limits);
  if (const auto opened = impl->open_both(port); !opened) return fail(opened.error().text);
  for (auto& acceptor : impl->acceptors) impl->accept(*acceptor);
  return std::unique_ptr<WebServer>(new WebServer(impl));
}

WebServer::~WebServer() { impl_->close(); }
int WebServer::port() const { return impl_->port; }

WebCounters WebServer::counters() const {
  WebCounters now = impl_->counters;
  now.connections = impl_->visits.size();
  for (const Visit* visit : impl_->visits) now.listeners += visit->listens() ? 1 : 0;
  return now;
}

}  // namespace brimwatch
