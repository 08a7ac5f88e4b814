#include "adapters/net/push_server.h"

#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <deque>
#include <map>
#include <optional>

#include "adapters/net/own_address.h"
#include "adapters/net/web_stream.h"

namespace brimwatch {
namespace {

using Request = http::request<http::string_body>;

}  // namespace

class PushVisit;

struct PushServer::Impl : std::enable_shared_from_this<PushServer::Impl> {
  Impl(asio::io_context& io, Handlers what, PushLimits bounds)
      : loop(io), handlers(std::move(what)), limits(bounds), acceptor(io) {}

  Status open(int wanted);
  void accept();
  void rest();
  void close();
  [[nodiscard]] int port() const;

  asio::io_context& loop;
  Handlers handlers;
  PushLimits limits;
  tcp::acceptor acceptor;
  std::map<Client, PushVisit*> visits;
  PushCounters counters;
  bool closed = false, away = false;
};

/// One connection: requests one after the other, or a WebSocket. Keeps itself alive while an operation is under way.
class PushVisit : public std::enable_shared_from_this<PushVisit> {
 public:
  PushVisit(tcp::socket socket, std::shared_ptr<PushServer::Impl> server)
      : server_(std::move(server)), stream_(std::move(socket), nullptr), id_(++server_->counters.connections) {
    server_->visits[id_] = this;
    error_code ignored;
    stream_.socket().set_option(tcp::no_delay(true), ignored);
  }
  ~PushVisit() { server_->visits.erase(id_); }
  PushVisit(const PushVisit&) = delete;
  PushVisit& operator=(const PushVisit&) = delete;

  void read_request();
  void send(std::shared_ptr<const std::string> text);
  void say_goodbye(int code, std::string_view reason);
  void cut();

 private:
  void on_request(const error_code& error);
  [[nodiscard]] bool is_welcome(const Request& request) const;
  void reply(const PushReply& what);
  void upgrade(Request request);
  void read_on();
  void write_next();
  void finish_close();
  void end(const std::string& why);

  std::shared_ptr<PushServer::Impl> server_;
  WebStream stream_;
  PushServer::Client id_;
  beast::flat_buffer buffer_;
  std::optional<http::request_parser<http::string_body>> parser_;
  Response response_;
  std::optional<WebSocketOfServer> socket_;
  std::deque<std::shared_ptr<const std::string>> waiting_;  ///< the first is being written, if `writing_`
  std::size_t unsent_ = 0;
  std::optional<websocket::close_reason> goodbye_;
  bool open_ = false, writing_ = false, closing_ = false;
};

void PushVisit::read_request() {
  parser_.emplace();
  parser_->header_limit(64U << 10);  // a poll of many symbols has a long target
  parser_->body_limit(server_->limits.message_bytes_most);
  stream_.expires_after(server_->limits.patience * 6);
  http::async_read(stream_, buffer_, *parser_,
                   [self = shared_from_this()](const error_code& error, std::size_t) { self->on_request(error); });
}

void PushVisit::on_request(const error_code& error) {
  if (error || server_->closed) return cut();
  if (!is_welcome(parser_->get())) return reply({403, "{\"error\":\"not from a page of another site\"}\n", ""});
  if (websocket::is_upgrade(parser_->get())) return upgrade(parser_->release());
  const Request& request = parser_->get();
  ++server_->counters.requests;
  if (request.method() != http::verb::get) return reply({405, "{\"error\":\"only GET\"}\n", ""});
  const PushReply answer = server_->handlers.answer(view(request.target()), view(request[http::field::if_none_match]));
  if (answer.status != 0) return reply(answer);
  // Never answered: held until the client has enough of it.
  stream_.expires_never();
  stream_.async_read_some(asio::buffer(buffer_.prepare(1)),
                          [self = shared_from_this()](const error_code&, std::size_t) { self->cut(); });
}

/// A page of another site, in the browser of who plays the tape, has no business here.
bool PushVisit::is_welcome(const Request& request) const {
  const std::string_view host = view(request[http::field::host]);
  if (request.count(http::field::host) != 1 || !is_own_host(host, server_->port())) return false;
  return request.count(http::field::origin) == 0 || is_own_origin(view(request[http::field::origin]), host);
}

void PushVisit::reply(const PushReply& what) {
  response_ = {};
  response_.version(11);
  response_.result(static_cast<unsigned>(what.status));
  response_.set(http::field::content_type, "application/json");
  if (!what.etag.empty()) response_.set(http::field::etag, what.etag);
  response_.keep_alive(parser_->get().keep_alive());
  if (what.status != 304) response_.body() = what.body;
  if (what.status != 304) response_.content_length(what.body.size());
  stream_.expires_after(server_->limits.patience);
  http::async_write(stream_, response_, [self = shared_from_this()](const error_code& error, std::size_t) {
    if (error || self->server_->closed || !self->response_.keep_alive()) return self->cut();
    self->read_request();
  });
}

void PushVisit::upgrade(Request request) {
  stream_.expires_never();  // from here on the WebSocket has its own timer
  socket_.emplace(stream_);
  socket_->set_option(websocket::stream_base::timeout{server_->limits.patience, server_->limits.patience, true});
  socket_->read_message_max(server_->limits.message_bytes_most);
  socket_->write_buffer_bytes(64U << 10);
  buffer_.clear();
  const auto kept = std::make_shared<Request>(std::move(request));
  socket_->async_accept(*kept, [self = shared_from_this(), kept](const error_code& error) {
    if (error || self->server_->closed) return self->cut();
    self->open_ = true;
    self->server_->handlers.on_open(self->id_);
    self->read_on();
  });
}

void PushVisit::read_on() {
  socket_->async_read(buffer_, [self = shared_from_this()](const error_code& error, std::size_t) {
    if (error) {
      const auto& reason = self->socket_->reason();
      return self->end(error == websocket::error::closed ? "left with code " + std::to_string(reason.code)
                                                         : error.message());
    }
    const std::string text = beast::buffers_to_string(self->buffer_.data());
    self->buffer_.clear();
    if (self->open_) self->server_->handlers.on_text(self->id_, text);
    self->read_on();
  });
}

void PushVisit::send(std::shared_ptr<const std::string> text) {
  if (!open_ || goodbye_) return;
  unsent_ += text->size();
  waiting_.push_back(std::move(text));
  if (unsent_ > server_->limits.unsent_bytes_most) {
    ++server_->counters.too_slow;
    return say_goodbye(1008, "too slow");
  }
  if (!writing_) write_next();
}

void PushVisit::write_next() {
  if (goodbye_) return finish_close();
  if (waiting_.empty()) return;
  writing_ = true;
  socket_->text(true);
  socket_->async_write(asio::buffer(*waiting_.front()),
                       [self = shared_from_this()](const error_code& error, std::size_t) {
                         self->writing_ = false;
                         if (error) return self->end(error.message());
                         if (self->waiting_.empty()) return;
                         self->unsent_ -= self->waiting_.front()->size();
                         self->waiting_.pop_front();
                         self->write_next();
                       });
}

/// What waits is not sent any more; only what is on its way is finished, for frames must not be torn.
void PushVisit::say_goodbye(int code, std::string_view reason) {
  if (!open_ || goodbye_) return;
  goodbye_ =
      websocket::close_reason(static_cast<websocket::close_code>(code), beast::string_view(reason.data(), reason.size()));
  if (!writing_) finish_close();
}

void PushVisit::finish_close() {
  if (std::exchange(closing_, true)) return;
  socket_->async_close(*goodbye_, [self = shared_from_this()](const error_code&) {
    self->end("closed with code " + std::to_string(self->goodbye_->code));
  });
}

void PushVisit::cut() {
  end("cut off");
  error_code ignored;
  stream_.socket().close(ignored);
}

void PushVisit::end(const std::string& why) {
  if (!std::exchange(open_, false) || server_->closed) return;
  server_->visits.erase(id_);
  asio::post(server_->loop, [server = server_, id = id_, why] {
    if (!server->closed) server->handlers.on_end(id, why);
  });
}

Status PushServer::Impl::open(int wanted) {
  const tcp::endpoint at(asio::ip::address_v4::loopback(), static_cast<asio::ip::port_type>(wanted));
  error_code error;
  acceptor.open(at.protocol(), error);
  if (!error) acceptor.set_option(asio::socket_base::reuse_address(true), error);
  if (!error) acceptor.bind(at, error);
  if (!error) acceptor.listen(asio::socket_base::max_listen_connections, error);
  if (error) return fail("127.0.0.1:" + std::to_string(wanted) + ": " + error.message());
  return {};
}

void PushServer::Impl::accept() {
  acceptor.async_accept([self = shared_from_this()](const error_code& error, tcp::socket socket) {
    if (self->closed || error == asio::error::operation_aborted) return;
    if (error) return self->rest();
    if (!self->away && self->visits.size() < self->limits.connections_most)
      std::make_shared<PushVisit>(std::move(socket), self)->read_request();
    else ++self->counters.turned_away;
    self->accept();
  });
}

/// For want of descriptors accept fails again and again, at once (accept(2), EMFILE).
void PushServer::Impl::rest() {
  ++counters.turned_away;
  const auto pause = std::make_shared<asio::steady_timer>(loop, limits.rest);
  pause->async_wait([self = shared_from_this(), pause](const error_code&) {
    if (!self->closed) self->accept();
  });
}

int PushServer::Impl::port() const { return acceptor.local_endpoint().port(); }

void PushServer::Impl::close() {
  closed = true;
  error_code ignored;
  acceptor.close(ignored);
  for (const auto& [id, visit] : std::exchange(visits, {})) visit->cut();
}

Result<std::unique_ptr<PushServer>> PushServer::listen(asio::io_context& loop, int port, Handlers handlers,
                                                       PushLimits limits) {
  const auto impl = std::make_shared<Impl>(loop, std::move(handlers), limits);
  if (const auto opened = impl->open(port); !opened) return fail(opened.error().text);
  impl->accept();
  return std::unique_ptr<PushServer>(new PushServer(impl));
}

PushServer::~PushServer() { impl_->close(); }

void PushServer::send(Client client, std::shared_ptr<const std::string> text) {
  const auto found = impl_->visits.find(client);
  if (found != impl_->visits.end()) found->second->send(std::move(text));
}

void PushServer::close_all(int code) {
  const auto visits = impl_->visits;
  for (const auto& [id, visit] : visits) visit->say_goodbye(code, "as asked for");
}

void PushServer::cut_all() {
  const auto visits = impl_->visits;
  for (const auto& [id, visit] : visits) visit->cut();
}

void PushServer::set_away(bool away) {
  impl_->away = away;
  if (away) cut_all();
}

int PushServer::port() const { return impl_->port(); }
const PushCounters& PushServer::counters() const { return impl_->counters; }

}  // namespace brimwatch
