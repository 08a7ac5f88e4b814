#include "adapters/net/web_server.h"

#include <unistd.h>

#include <algorithm>
#include <boost/asio/ip/v6_only.hpp>
#include <optional>

#include "adapters/net/own_address.h"
#include "adapters/net/peer_user.h"
#include "adapters/net/request_checks.h"
#include "adapters/net/web_server_impl.h"
#include "adapters/net/web_visit.h"
#include "loop/clock.h"

namespace brimwatch {
namespace {

constexpr int kPortTries = 8;

}  // namespace

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
  const std::string who = network_of(end.address());
  const auto mine =
      std::count_if(visits.begin(), visits.end(), [&](const WebVisit* visit) { return visit->from() == who; });
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
  std::make_shared<WebVisit>(std::move(socket), shared_from_this(), stranger, !another)->start();
}

/// False where all places are listeners'.
bool WebServer::Impl::make_room() {
  if (visits.size() < limits.connections_most) return true;
  const auto oldest = std::find_if(visits.begin(), visits.end(), [](const WebVisit* visit) { return !visit->listens(); });
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
      std::count_if(visits.begin(), visits.end(), [](const WebVisit* visit) { return visit->listens(); }));
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
  std::vector<std::shared_ptr<WebVisit>> all;
  for (WebVisit* visit : visits)
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
  for (WebVisit* visit : visits) visit->close();
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
