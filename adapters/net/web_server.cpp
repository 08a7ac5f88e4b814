#include "adapters/net/web_server.h"

#include <unistd.h>

#include <algorithm>
#include <array>
#include <boost/asio/ip/v6_only.hpp>
#include <boost/asio/steady_timer.hpp>
#include <list>
#include <optional>
#include <vector>

#include "adapters/net/allowance.h"
#include "adapters/net/beast.h"
#include "adapters/net/own_address.h"
#include "adapters/net/peer_user.h"
#include "adapters/net/tls_keys.h"
#include "adapters/net/web_stream.h"
#include "loop/clock.h"

namespace brimwatch {
namespace {

using BodilessRequest = http::request<http::empty_body>;
using SharedResponse = http::response<http::span_body<const char>>;  // the text belongs to all who asked for it

constexpr const char* kText = "text/plain; charset=utf-8";

constexpr int kPortTries = 8;
constexpr std::size_t kDrainMost = 65'536;           // of what a refused peer still sends
constexpr std::size_t kMessageMost = 1'024;          // nobody has anything to tell us
constexpr const char* kCookie = "__Host-brimwatch";  // the prefix: Secure, of this host alone, of all paths (RFC 6265bis)
constexpr const char* kPolicy =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "worker-src 'self'; manifest-src 'self'; "
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

/// The value of our cookie among those that are sent; of two, neither.
std::string_view own_cookie(const BodilessRequest& request) {
  std::string_view rest = only(request, http::field::cookie).value_or(""), found;
  for (int count = 0; !rest.empty();) {
    const std::size_t end = std::min(rest.find(';'), rest.size()), start = rest.find_first_not_of(' ');
    const std::string_view one = rest.substr(std::min(start, end), end - std::min(start, end));
    rest.remove_prefix(std::min(end + 1, rest.size()));
    if (!one.starts_with(kCookie) || one.size() <= std::string_view(kCookie).size() ||
        one[std::string_view(kCookie).size()] != '=')
      continue;
    if (++count > 1) return {};
    found = one.substr(std::string_view(kCookie).size() + 1);
  }
  return found;
}

/// No form of another site can send that (Fetch, W3C): a browser asks first, and is refused.
bool is_json(const BodilessRequest& request) {
  const std::string_view type = only(request, http::field::content_type).value_or("");
  return type == "application/json" || type.starts_with("application/json;");
}

/// Whom an address stands for: itself, or its network of 64 bits, which one house is given.
std::string who_is(const asio::ip::address& address) {
  if (address.is_v4()) return address.to_string();
  if (address.to_v6().is_v4_mapped()) return asio::ip::make_address_v4(asio::ip::v4_mapped, address.to_v6()).to_string();
  const auto bytes = address.to_v6().to_bytes();
  return {reinterpret_cast<const char*>(bytes.data()), 8};
}

/// What a browser says of where a request comes from (Fetch Metadata, W3C). A person who follows a link may come from
/// anywhere, to the page itself; others have nothing to ask here. Programs that are no browser say nothing.
bool comes_from_elsewhere(const BodilessRequest& request) {
  if (request.count("Sec-Fetch-Site") == 0) return false;
  const std::string_view site = view(request["Sec-Fetch-Site"]);
  if (site == "same-origin" || site == "none") return false;
  const bool follows_a_link =
      view(request["Sec-Fetch-Mode"]) == "navigate" && view(request["Sec-Fetch-Dest"]) == "document";
  return !follows_a_link || (view(request.target()) != "/" && view(request.target()) != "/pair");
}

}  // namespace

class Visit;

struct WebServer::Impl : std::enable_shared_from_this<WebServer::Impl> {
  Impl(asio::io_context& io, WebPlace where, Content what, WebLimits bounds)
      : loop(io),
        place(std::move(where)),
        content(std::move(what)),
        limits(bounds),
        timer(io),
        arrivals({bounds.at_once, bounds.a_second}),
        all_arrivals({bounds.at_once_of_all, bounds.a_second_of_all}),
        posts({bounds.posts_at_once, bounds.posts_a_second}) {}

  error_code open(const tcp::endpoint& at);
  Status open_both(int wanted);
  Status open_place();
  [[nodiscard]] bool is_open_place() const { return !place.authority.empty(); }
  [[nodiscard]] bool may_come(const tcp::socket& socket);
  [[nodiscard]] bool is_asked_host(std::string_view host) const;
  [[nodiscard]] bool is_asked_origin(std::string_view origin, std::string_view host) const;
  void accept(tcp::acceptor& from);
  void rest(tcp::acceptor& from);
  void take(tcp::socket socket);
  [[nodiscard]] bool make_room();
  [[nodiscard]] bool is_of_another_user(const tcp::socket& socket) const;
  [[nodiscard]] std::size_t listeners() const;
  void tick();
  void push(const std::shared_ptr<const std::string>& text);
  void close();

  asio::io_context& loop;
  WebPlace place;
  Content content;
  WebLimits limits;
  asio::steady_timer timer;
  Allowance arrivals, all_arrivals, posts;
  std::vector<std::unique_ptr<tcp::acceptor>> acceptors;
  std::list<Visit*> visits;   ///< the oldest first
  std::size_t strangers = 0;  ///< not among them
  WebCounters counters;
  int port = 0;
  bool closed = false, ticking = false;
};

/// One connection: one request and its answer, or a listener on the live path. Keeps itself alive while an operation is
/// under way.
class Visit : public std::enable_shared_from_this<Visit> {
 public:
  /// `stranger`: of another user of this machine, who may read at the most.
  Visit(tcp::socket socket, std::shared_ptr<WebServer::Impl> server, bool stranger, bool may_answer)
      : server_(std::move(server)),
        from_(from_of(socket)),
        stream_(std::move(socket), server_->place.keys == nullptr ? nullptr : server_->place.keys->current()),
        buffer_(server_->limits.header_bytes_most + 1024),
        stranger_(stranger) {
    if (!may_answer) visitor_.right = DeviceRight::look;
    if (stranger_) ++server_->strangers;
    else place_ = server_->visits.insert(server_->visits.end(), this);
  }
  ~Visit() {
    if (stranger_) --server_->strangers;
    else if (place_) server_->visits.erase(*place_);
  }
  Visit(const Visit&) = delete;
  Visit& operator=(const Visit&) = delete;

  void start();
  void push(const std::shared_ptr<const std::string>& text);
  void close();
  /// Gives its place to a newer one.
  void yield();
  [[nodiscard]] bool listens() const { return listening_; }
  [[nodiscard]] const std::string& from() const { return from_; }
  /// A device that has been revoked meanwhile hears nothing more.
  [[nodiscard]] bool may_listen_on() const {
    return !server_->content.visitor || server_->content.visitor(cookie_).right != DeviceRight::none;
  }

 private:
  static std::string from_of(const tcp::socket& socket) {
    error_code gone;
    const auto end = socket.remote_endpoint(gone);
    return gone ? std::string() : who_is(end.address());
  }
  void read_header();
  void on_header(error_code error);
  void read_body();
  [[nodiscard]] std::optional<WebReply> refusal_of_post(const BodilessRequest& request) const;
  [[nodiscard]] std::optional<WebReply> refusal(const BodilessRequest& request) const;
  void reply(const WebReply& what, bool head);
  void ask(const BodilessRequest& request, std::string_view body);
  void refuse(const WebReply& what, bool head);
  void drain();
  void upgrade(BodilessRequest request);
  void read_on();
  void write_next();

  std::shared_ptr<WebServer::Impl> server_;
  std::string cookie_;
  std::string from_;  ///< the other side's address, as who_is says; empty: gone already
  WebStream stream_;
  beast::flat_buffer buffer_;
  http::request_parser<http::empty_body> parser_;
  std::optional<http::request_parser<http::string_body>> body_parser_;
  Visitor visitor_{DeviceRight::answer, "", "this machine"};
  SharedResponse response_;
  std::shared_ptr<const std::string> body_;  ///< of the response
  std::array<char, 4096> waste_{};
  std::size_t drained_ = 0;
  std::optional<WebSocketOfServer> socket_;
  std::shared_ptr<const std::string> writing_, next_;
  std::optional<std::list<Visit*>::iterator> place_;
  bool listening_ = false, stranger_ = false;
};

void Visit::start() {
  if (stranger_) {
    return refuse({403, kText, "this page is for the user that brimwatch runs as; [page] everybody = true opens it\n"},
                  false);
  }
  stream_.expires_after(server_->limits.patience);
  if (!stream_.needs_handshake()) return read_header();
  stream_.async_handshake([self = shared_from_this()](const error_code& error) {
    if (error || self->server_->closed) return self->close();
    self->read_header();
  });
}

/// The time for it began with the connection.
void Visit::read_header() {
  parser_.header_limit(server_->limits.header_bytes_most);
  http::async_read_header(stream_, buffer_, parser_,
                          [self = shared_from_this()](const error_code& error, std::size_t) { self->on_header(error); });
}

void Visit::on_header(error_code error) {
  if (server_->closed) return;
  if (error == http::error::header_limit || error == http::error::buffer_overflow)
    return refuse({431, kText, "the headers are longer than 8 KiB\n"}, false);
  if (error.category() == make_error_code(http::error::bad_method).category() && error != http::error::end_of_stream &&
      error != http::error::partial_message)
    return refuse({400, kText, "this is not HTTP\n"}, false);
  if (error) return close();
  const BodilessRequest& request = parser_.get();
  cookie_ = own_cookie(request);
  if (server_->content.visitor) visitor_ = server_->content.visitor(cookie_);
  if (const auto no = refusal(request)) return refuse(*no, request.method() == http::verb::head);
  if (request.method() == http::verb::post) return read_body();
  if (view(request.target()) == "/live") return upgrade(parser_.release());
  ask(request, {});
}

/// Within the same time as its header.
void Visit::read_body() {
  body_parser_.emplace(std::move(parser_));
  body_parser_->body_limit(server_->limits.body_bytes_most);
  http::async_read(stream_, buffer_, *body_parser_, [self = shared_from_this()](const error_code& error, std::size_t) {
    if (self->server_->closed) return;
    if (error) return self->close();
    const auto request = self->body_parser_->release();
    self->ask(BodilessRequest(http::request_header<>(request.base())), request.body());
  });
}

/// The answer may come at once, or when others have long gone.
void Visit::ask(const BodilessRequest& request, std::string_view body) {
  stream_.expires_after(server_->limits.patience);
  const bool head = request.method() == http::verb::head;
  const WebRequest asked{view(request.target()), visitor_, request.method() == http::verb::post, body,
                         view(request[http::field::user_agent])};
  server_->content.answer(asked, [kept = shared_from_this(), head](const WebReply& what) {
    if (!kept->server_->closed && kept->stream_.socket().is_open()) kept->reply(what, head);
  });
}

/// Host first: a stranger learns nothing of the routes.
std::optional<WebReply> Visit::refusal(const BodilessRequest& request) const {
  const auto host = only(request, http::field::host);
  if (!host || !server_->is_asked_host(*host))
    return WebReply{421, kText, "this server answers only to its own address\n"};
  if (comes_from_elsewhere(request)) return WebReply{403, kText, "not from a page of another site\n"};
  if (request.method() == http::verb::post) return refusal_of_post(request);
  if (request.method() != http::verb::get && request.method() != http::verb::head)
    return WebReply{405, kText, "only GET, HEAD and POST\n"};
  if (!parser_.is_done()) return WebReply{400, kText, "a request here has no body\n"};
  if (view(request.target()) != "/live") return std::nullopt;
  if (!websocket::is_upgrade(request)) return WebReply{426, kText, "this path is a WebSocket\n"};
  const auto origin = only(request, http::field::origin);
  if (!origin || !server_->is_asked_origin(*origin, *host)) return WebReply{403, kText, "not from this page\n"};
  if (visitor_.right == DeviceRight::none) return WebReply{401, kText, "this device is not paired\n"};
  if (server_->listeners() >= server_->limits.listeners_most)
    return WebReply{503, kText, "too many listen already; /now can be asked instead\n"};
  return std::nullopt;
}

/// What changes something comes from our own page, and from nowhere else.
std::optional<WebReply> Visit::refusal_of_post(const BodilessRequest& request) const {
  const auto origin = only(request, http::field::origin);
  if (!origin || !server_->is_asked_origin(*origin, view(request[http::field::host])))
    return WebReply{403, kText, "not from this page\n"};
  if (!is_json(request)) return WebReply{415, kText, "expected application/json\n"};
  if (request.count(http::field::content_length) != 1 || request.count(http::field::transfer_encoding) != 0)
    return WebReply{411, kText, "expected a length\n"};
  if (parser_.content_length().value_or(0) > server_->limits.body_bytes_most)
    return WebReply{413, kText, "an answer is shorter than that\n"};
  if (!server_->posts.take(visitor_.id.empty() ? from_ : visitor_.id, server_->content.steady()))
    return WebReply{429, kText, "too many in a short time; wait a minute\n"};
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
  if (what.status == 405) response_.set(http::field::allow, "GET, HEAD, POST");
  if (!what.cookie.empty()) response_.set(http::field::set_cookie, kCookie + ("=" + what.cookie));
  if (what.status == 426) response_.set(http::field::upgrade, "websocket");
  response_.keep_alive(false);
  body_ = what.body;
  response_.content_length(body_->size());
  if (!head) response_.body() = {body_->data(), body_->size()};
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
    self->server_->content.live(true, [self](const std::shared_ptr<const std::string>& text) {
      if (self->listening_) self->push(text);
    });
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

void Visit::yield() {
  if (place_) server_->visits.erase(*place_);
  place_.reset();
  close();
}

void Visit::close() {
  listening_ = false;
  error_code ignored;
  stream_.socket().close(ignored);
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

Status WebServer::Impl::open_place() {
  if (!is_open_place()) return open_both(place.port);
  error_code error;
  const auto address = asio::ip::make_address(place.host, error);
  if (!error) error = open({address, static_cast<asio::ip::port_type>(place.port)});
  if (error) return fail(place.host + " port " + std::to_string(place.port) + ": " + error.message());
  port = acceptors.front()->local_endpoint().port();
  return {};
}

bool WebServer::Impl::is_asked_host(std::string_view host) const {
  return is_open_place() ? host == place.authority : is_own_host(host, port);
}

bool WebServer::Impl::is_asked_origin(std::string_view origin, std::string_view host) const {
  return is_open_place() ? origin == "https://" + place.authority : is_own_origin(origin, host);
}

/// Who comes through a proxy of ours comes from this machine: then it is the proxy that knows the addresses.
bool WebServer::Impl::may_come(const tcp::socket& socket) {
  if (!is_open_place()) return true;
  error_code gone;
  const auto end = socket.remote_endpoint(gone);
  if (gone) return false;
  const Nanos now = content.steady();
  if (end.address().is_loopback()) return all_arrivals.take("", now);
  const std::string who = who_is(end.address());
  const auto mine = std::count_if(visits.begin(), visits.end(), [&](const Visit* visit) { return visit->from() == who; });
  return static_cast<std::size_t>(mine) < limits.of_one_address && arrivals.take(who, now) && all_arrivals.take("", now);
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
    if (error) return self->rest(from);
    self->take(std::move(socket));
    self->accept(from);
  });
}

/// For want of descriptors accept fails again and again, at once (accept(2), EMFILE): others are let work meanwhile.
void WebServer::Impl::rest(tcp::acceptor& from) {
  ++counters.rests;
  const auto pause = std::make_shared<asio::steady_timer>(loop, limits.rest);
  pause->async_wait([self = shared_from_this(), pause, &from](const error_code&) {
    if (!self->closed) self->accept(from);
  });
}

void WebServer::Impl::take(tcp::socket socket) {
  if (!may_come(socket)) {
    ++counters.turned_away;
    return;
  }
  const bool another = is_of_another_user(socket), stranger = another && !limits.everybody;
  if (stranger) ++counters.strangers;
  if (stranger ? strangers >= limits.strangers_most : !make_room()) {
    ++counters.turned_away;
    return;
  }
  std::make_shared<Visit>(std::move(socket), shared_from_this(), stranger, !another)->start();
}

/// False where all places are listeners'.
bool WebServer::Impl::make_room() {
  if (visits.size() < limits.connections_most) return true;
  const auto oldest = std::find_if(visits.begin(), visits.end(), [](const Visit* visit) { return !visit->listens(); });
  if (oldest == visits.end()) return false;
  ++counters.made_room;
  (*oldest)->yield();
  return true;
}

bool WebServer::Impl::is_of_another_user(const tcp::socket& socket) const {
  if (is_open_place()) return false;
  error_code gone;
  const auto theirs = socket.remote_endpoint(gone);
  const auto user = gone ? std::nullopt : content.user_of(theirs, socket.local_endpoint(gone));
  return user && *user != 0 && *user != ::geteuid();
}

std::size_t WebServer::Impl::listeners() const {
  return static_cast<std::size_t>(
      std::count_if(visits.begin(), visits.end(), [](const Visit* visit) { return visit->listens(); }));
}

void WebServer::Impl::tick() {
  if (ticking || closed) return;
  ticking = true;
  timer.expires_after(limits.live_every);
  timer.async_wait([self = shared_from_this()](const error_code& error) {
    self->ticking = false;
    if (error || self->closed) return;
    if (self->listeners() == 0) return;
    self->content.live(false, [self](const std::shared_ptr<const std::string>& text) { self->push(text); });
    self->tick();
  });
}

void WebServer::Impl::push(const std::shared_ptr<const std::string>& text) {
  if (closed) return;
  std::vector<std::shared_ptr<Visit>> all;
  for (Visit* visit : visits)
    if (visit->listens()) all.push_back(visit->shared_from_this());
  for (const auto& listener : all)
    if (listener->may_listen_on()) listener->push(text);
    else listener->close();
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

Result<std::unique_ptr<WebServer>> WebServer::listen(asio::io_context& loop, const WebPlace& place, Content content,
                                                     WebLimits limits) {
  if (!content.user_of) content.user_of = user_of_peer;
  if (!content.steady) content.steady = steady_now;
  const auto impl = std::make_shared<Impl>(loop, place, std::move(content), limits);
  if (const auto opened = impl->open_place(); !opened) return fail(opened.error().text);
  for (auto& acceptor : impl->acceptors) impl->accept(*acceptor);
  return std::unique_ptr<WebServer>(new WebServer(impl));
}

WebServer::~WebServer() { impl_->close(); }
int WebServer::port() const { return impl_->port; }

WebCounters WebServer::counters() const {
  WebCounters now = impl_->counters;
  now.connections = impl_->visits.size();
  now.listeners = impl_->listeners();
  return now;
}

}  // namespace brimwatch
