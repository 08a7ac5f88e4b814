#pragma once
// The web server's inside: where it listens, its visits, and how many more it takes. For the server and its visits
// only.
#include <boost/asio/steady_timer.hpp>
#include <list>
#include <memory>
#include <vector>

#include "adapters/net/allowance.h"
#include "adapters/net/beast.h"
#include "adapters/net/web_server.h"

namespace brimwatch {

class WebVisit;

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
  std::list<WebVisit*> visits;  ///< the oldest first
  std::size_t strangers = 0;    ///< not among them
  WebCounters counters;
  int port = 0;
  bool closed = false, ticking = false;
};

}  // namespace brimwatch
