#include "adapters/net/web_visit.h"

#include <utility>

#include "adapters/net/tls_keys.h"

namespace brimwatch {
namespace {

constexpr const char* kText = "text/plain; charset=utf-8";
constexpr std::size_t kDrainMost = 65'536;   // of what a refused peer still sends
constexpr std::size_t kMessageMost = 1'024;  // nobody has anything to tell us
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

std::string from_of(const tcp::socket& socket) {
  error_code gone;
  const auto end = socket.remote_endpoint(gone);
  return gone ? std::string() : network_of(end.address());
}

}  // namespace

WebVisit::WebVisit(tcp::socket socket, std::shared_ptr<WebServer::Impl> server, bool stranger, bool may_answer)
    : server_(std::move(server)),
      from_(from_of(socket)),
      stream_(std::move(socket), server_->place.keys == nullptr ? nullptr : server_->place.keys->current()),
      buffer_(server_->limits.header_bytes_most + 1024),
      stranger_(stranger) {
  if (!may_answer) visitor_.right = DeviceRight::look;
  if (stranger_) ++server_->strangers;
  else place_ = server_->visits.insert(server_->visits.end(), this);
}
WebVisit::~WebVisit() {
  if (stranger_) --server_->strangers;
  else if (place_) server_->visits.erase(*place_);
}

void WebVisit::start() {
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
void WebVisit::read_header() {
  parser_.header_limit(server_->limits.header_bytes_most);
  http::async_read_header(stream_, buffer_, parser_,
                          [self = shared_from_this()](const error_code& error, std::size_t) { self->on_header(error); });
}

void WebVisit::on_header(error_code error) {
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
void WebVisit::read_body() {
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
void WebVisit::ask(const BodilessRequest& request, std::string_view body) {
  stream_.expires_after(server_->limits.patience);
  const bool head = request.method() == http::verb::head;
  const WebRequest asked{view(request.target()), visitor_, request.method() == http::verb::post, body,
                         view(request[http::field::user_agent])};
  server_->content.answer(asked, [kept = shared_from_this(), head](const WebReply& what) {
    if (!kept->server_->closed && kept->stream_.socket().is_open()) kept->reply(what, head);
  });
}

/// Host first: a stranger learns nothing of the routes.
std::optional<WebReply> WebVisit::refusal(const BodilessRequest& request) const {
  const auto host = single_value(request, http::field::host);
  if (!host || !server_->is_asked_host(*host))
    return WebReply{421, kText, "this server answers only to its own address\n"};
  if (comes_from_elsewhere(request)) return WebReply{403, kText, "not from a page of another site\n"};
  if (request.method() == http::verb::post) return refusal_of_post(request);
  if (request.method() != http::verb::get && request.method() != http::verb::head)
    return WebReply{405, kText, "only GET, HEAD and POST\n"};
  if (!parser_.is_done()) return WebReply{400, kText, "a request here has no body\n"};
  if (view(request.target()) != "/live") return std::nullopt;
  if (!websocket::is_upgrade(request)) return WebReply{426, kText, "this path is a WebSocket\n"};
  const auto origin = single_value(request, http::field::origin);
  if (!origin || !server_->is_asked_origin(*origin, *host)) return WebReply{403, kText, "not from this page\n"};
  if (visitor_.right == DeviceRight::none) return WebReply{401, kText, "this device is not paired\n"};
  if (server_->listeners() >= server_->limits.listeners_most)
    return WebReply{503, kText, "too many listen already; /now can be asked instead\n"};
  return std::nullopt;
}

/// What changes something comes from our own page, and from nowhere else.
std::optional<WebReply> WebVisit::refusal_of_post(const BodilessRequest& request) const {
  const auto origin = single_value(request, http::field::origin);
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

void WebVisit::refuse(const WebReply& what, bool head) {
  ++server_->counters.refused;
  reply(what, head);
}

void WebVisit::reply(const WebReply& what, bool head) {
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
void WebVisit::drain() {
  stream_.async_read_some(asio::buffer(waste_), [self = shared_from_this()](const error_code& error, std::size_t bytes) {
    self->drained_ += bytes;
    if (error || self->drained_ > kDrainMost) return self->close();
    self->drain();
  });
}

void WebVisit::upgrade(BodilessRequest request) {
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
void WebVisit::read_on() {
  socket_->async_read(buffer_, [self = shared_from_this()](const error_code& error, std::size_t) {
    if (error) return self->close();
    self->buffer_.clear();
    self->read_on();
  });
}

void WebVisit::push(const std::shared_ptr<const std::string>& text) {
  if (text->empty()) return;
  if (next_ != nullptr) ++server_->counters.skipped;
  next_ = text;
  if (writing_ == nullptr) write_next();
}

void WebVisit::write_next() {
  writing_ = std::exchange(next_, nullptr);
  if (writing_ == nullptr) return;
  ++server_->counters.pushed;
  socket_->text(true);
  socket_->async_write(asio::buffer(*writing_), [self = shared_from_this()](const error_code& error, std::size_t) {
    if (error) return self->close();
    self->write_next();
  });
}

void WebVisit::yield() {
  if (place_) server_->visits.erase(*place_);
  place_.reset();
  close();
}

void WebVisit::close() {
  listening_ = false;
  error_code ignored;
  stream_.socket().close(ignored);
}

}  // namespace brimwatch
