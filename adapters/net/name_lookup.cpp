#include "adapters/net/name_lookup.h"

#include <netdb.h>
#include <sys/socket.h>

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/address.hpp>
#include <boost/asio/post.hpp>
#include <cstring>
#include <utility>

namespace brimwatch {
namespace {

namespace asio = boost::asio;

constexpr auto kKnownFor = std::chrono::seconds(60);
constexpr std::size_t kNamesMost = 8;  ///< that wait; a client asks for one or two hosts

/// On the worker's thread.
Result<NameLookup::Addresses> ask_system(const std::string& host) {
  addrinfo hints{};
  hints.ai_socktype = SOCK_STREAM;
  hints.ai_flags = AI_ADDRCONFIG;
  addrinfo* list = nullptr;
  const int code = ::getaddrinfo(host.c_str(), nullptr, &hints, &list);
  if (code != 0)
    return fail("no address for " + host + ": " + (code == EAI_SYSTEM ? std::strerror(errno) : ::gai_strerror(code)));
  NameLookup::Addresses out;
  for (const addrinfo* one = list; one != nullptr; one = one->ai_next) {
    char text[NI_MAXHOST];
    if (::getnameinfo(one->ai_addr, one->ai_addrlen, text, sizeof text, nullptr, 0, NI_NUMERICHOST) == 0)
      out.emplace_back(text);
  }
  ::freeaddrinfo(list);
  if (out.empty()) return fail("no address for " + host);
  return out;
}

}  // namespace

bool is_address(const std::string& host) {
  boost::system::error_code error;
  (void)asio::ip::make_address(host.starts_with('[') ? host.substr(1, host.size() - 2) : host, error);
  return !error;
}

NameLookup::NameLookup(asio::io_context& io, std::chrono::milliseconds deadline, Resolve resolve)
    : io_(io),
      resolve_(resolve ? std::move(resolve) : Resolve(ask_system)),
      deadline_(deadline),
      worker_(io, {.deadline = deadline, .waiting_most = kNamesMost}) {}

void NameLookup::find(const std::string& host, Handler handler) {
  const auto known = known_.find(host);
  if (known != known_.end() && known->second.until > std::chrono::steady_clock::now()) {
    return asio::post(io_, [weak = std::weak_ptr(alive_), addresses = known->second.addresses, handler] {
      if (!weak.expired()) handler(addresses);
    });
  }
  auto& waiting = asked_[host];
  waiting.push_back(std::move(handler));
  if (waiting.size() > 1) return;
  const auto answer = [this, host](const Result<Addresses>& found) { on_answer(host, found); };
  const std::string seconds = std::to_string(std::chrono::duration_cast<std::chrono::seconds>(deadline_).count());
  const bool started = worker_.start(
      [host, answer, resolve = resolve_]() -> Worker::Answer {
        return [answer, found = resolve(host)] { answer(found); };
      },
      [answer, host, seconds] {
        answer(fail("no address for " + host + ": no name server answers within " + seconds + " s"));
      });
  if (started) return;
  asio::post(io_, [weak = std::weak_ptr(alive_), answer, host] {
    if (!weak.expired())
      answer(fail("no address for " + host + ": too many names wait for a name server that does not answer"));
  });
}

void NameLookup::on_answer(const std::string& host, const Result<Addresses>& found) {
  if (found) known_[host] = {*found, std::chrono::steady_clock::now() + kKnownFor};
  else known_.erase(host);
  const std::weak_ptr alive(alive_);
  for (const Handler& handler : std::exchange(asked_[host], {})) {
    if (alive.expired()) return;  // a handler has let go of us
    handler(found);
  }
  if (!alive.expired()) asked_.erase(host);
}

}  // namespace brimwatch
