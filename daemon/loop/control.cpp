#include "loop/control.h"

#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <boost/asio/local/stream_protocol.hpp>
#include <boost/asio/read_until.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/streambuf.hpp>
#include <boost/asio/write.hpp>
#include <cerrno>
#include <cstring>
#include <list>

#include "files/descriptor.h"
#include "files/own_files.h"

namespace brimwatch {
namespace control {

namespace asio = boost::asio;
using Local = asio::local::stream_protocol;

constexpr std::size_t kRequestMost = 4096;
constexpr std::size_t kPeersMost = 16;
constexpr auto kPatience = std::chrono::seconds(5);         // with who asks, and with who reads
constexpr auto kPatienceWithUs = std::chrono::seconds(60);  // until we have the answer
constexpr auto kRest = std::chrono::milliseconds(200);

/// `path` as an address; the caller has looked at its length.
sockaddr_un address_of(const std::string& path) {
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  std::memcpy(address.sun_path, path.c_str(), path.size());
  return address;
}

/// Somebody listens there, be it a daemon that does not answer: then the queue of those who wait for it may be full
/// (EAGAIN, where a connect that may wait would do so for ever).
bool is_alive(const std::string& path) {
  if (path.size() >= sizeof(sockaddr_un::sun_path)) return false;
  const sockaddr_un address = address_of(path);
  const Descriptor fd(::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0));
  return ::connect(fd.get(), reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0 || errno == EAGAIN;
}

bool is_ours(Local::socket& socket) {
  ucred peer{};
  socklen_t size = sizeof peer;
  if (getsockopt(socket.native_handle(), SOL_SOCKET, SO_PEERCRED, &peer, &size) != 0) return false;
  return peer.uid == geteuid() || peer.uid == 0;
}

class Peer;

/// What peers have of the server; they may outlive it.
struct Counter {
  ControlServer::Handler handler;  ///< empty once the server is gone
  std::list<Peer*> peers;          ///< the oldest first
};

/// One peer: reads one line, writes one answer, closes. Keeps itself alive while an operation is under way.
class Peer : public std::enable_shared_from_this<Peer> {
 public:
  Peer(Local::socket socket, std::shared_ptr<Counter> counter)
      : socket_(std::move(socket)),
        timer_(socket_.get_executor()),
        counter_(std::move(counter)),
        place_(counter_->peers.insert(counter_->peers.end(), this)) {}
  ~Peer() { counter_->peers.erase(place_); }
  Peer(const Peer&) = delete;
  Peer& operator=(const Peer&) = delete;

  void start() {
    limit(kPatience);
    asio::async_read_until(socket_, buffer_, '\n',
                           [self = shared_from_this()](const boost::system::error_code& error, std::size_t size) {
                             if (error || !self->counter_->handler) return self->close();
                             self->ask(size - 1);
                           });
  }
  [[nodiscard]] bool has_asked() const { return asked_; }
  void close() {
    boost::system::error_code ignored;
    timer_.cancel();
    socket_.shutdown(Local::socket::shutdown_both, ignored);
    socket_.close(ignored);
  }

 private:
  void limit(std::chrono::seconds patience) {
    timer_.expires_after(patience);
    timer_.async_wait([self = shared_from_this()](const boost::system::error_code& error) {
      if (!error) self->close();
    });
  }
  void ask(std::size_t size) {
    asked_ = true;
    limit(kPatienceWithUs);
    const char* data = asio::buffer_cast<const char*>(buffer_.data());
    counter_->handler(std::string_view(data, size), [self = shared_from_this()](std::string answer) {
      if (!self->counter_->handler || !self->socket_.is_open()) return self->close();
      self->answer_ = std::move(answer);
      self->reply();
    });
  }
  void reply() {
    limit(kPatience);
    asio::async_write(socket_, asio::buffer(answer_),
                      [self = shared_from_this()](const boost::system::error_code&, std::size_t) { self->close(); });
  }

  Local::socket socket_;
  asio::steady_timer timer_;
  std::shared_ptr<Counter> counter_;
  std::list<Peer*>::iterator place_;
  asio::streambuf buffer_{kRequestMost};
  std::string answer_;
  bool asked_ = false;
};

}  // namespace control

using namespace control;

struct ControlServer::Impl : std::enable_shared_from_this<ControlServer::Impl> {
  Impl(asio::io_context& loop, std::string where, Handler what) : acceptor(loop), pause(loop), path(std::move(where)) {
    counter->handler = std::move(what);
  }

  void accept() {
    acceptor.async_accept([self = shared_from_this()](const boost::system::error_code& error, Local::socket socket) {
      if (error == asio::error::operation_aborted) return;
      if (error) return self->rest();
      if (is_ours(socket) && self->make_room()) std::make_shared<Peer>(std::move(socket), self->counter)->start();
      self->accept();
    });
  }

  /// For want of descriptors accept fails again and again, at once (accept(2), EMFILE).
  void rest() {
    pause.expires_after(kRest);
    pause.async_wait([self = shared_from_this()](const boost::system::error_code& error) {
      if (!error && self->acceptor.is_open()) self->accept();
    });
  }

  /// Who says nothing keeps nobody out.
  [[nodiscard]] bool make_room() const {
    const auto& peers = counter->peers;
    if (peers.size() < kPeersMost) return true;
    const auto oldest = std::find_if(peers.begin(), peers.end(), [](const Peer* peer) { return !peer->has_asked(); });
    if (oldest != peers.end()) (*oldest)->close();
    return oldest != peers.end();
  }

  Local::acceptor acceptor;
  asio::steady_timer pause;
  std::string path;
  std::uint64_t file = 0;  ///< of the socket that we have made
  std::shared_ptr<Counter> counter = std::make_shared<Counter>();
};

Result<std::unique_ptr<ControlServer>> ControlServer::listen(asio::io_context& loop, const std::string& path,
                                                             Handler handler) {
  if (path.size() >= sizeof(sockaddr_un::sun_path))
    return fail("control socket " + path + ": the path is longer than a socket's may be");
  auto impl = std::make_shared<Impl>(loop, path, std::move(handler));
  // What a dead one has left behind is in the way; a living one is not to be put out.
  if (is_alive(path))
    return fail("control socket " + path + ": another brimwatch answers there, it was left alone; give --socket");
  if (const Status free = remove_socket(path); !free) return fail("control socket " + free.error().text);
  boost::system::error_code error;
  impl->acceptor.open(Local(), error);
  if (!error) ::fchmod(impl->acceptor.native_handle(), 0600);  // what bind gives to the file (unix(7))
  if (!error) impl->acceptor.bind(Local::endpoint(path), error);
  if (!error) impl->acceptor.listen(static_cast<int>(kPeersMost), error);
  if (error) return fail("control socket " + path + ": " + error.message());
  impl->file = inode_at(path);
  impl->accept();
  return std::unique_ptr<ControlServer>(new ControlServer(std::move(impl)));
}

ControlServer::~ControlServer() {
  boost::system::error_code ignored;
  impl_->acceptor.close(ignored);
  impl_->pause.cancel();
  impl_->counter->handler = nullptr;
  (void)remove_socket(impl_->path, impl_->file);  // not another one's, which took its place
}

bool daemon_listens(const std::string& path) { return is_alive(path); }

Result<std::string> ask_daemon(const std::string& path, std::string_view request, std::chrono::seconds most) {
  if (path.size() >= sizeof(sockaddr_un::sun_path)) return fail(path + ": the path is longer than a socket's may be");
  const sockaddr_un address = address_of(path);
  const Descriptor owner(::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0));
  const int fd = owner.get();
  const timeval patience{most.count(), 0};
  setsockopt(fd, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
  setsockopt(fd, SOL_SOCKET, SO_SNDTIMEO, &patience, sizeof patience);
  const std::string line = std::string(request) + "\n";
  std::string answer;
  bool good = ::connect(fd, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0 &&
              ::send(fd, line.data(), line.size(), MSG_NOSIGNAL) == static_cast<ssize_t>(line.size());
  std::array<char, 65536> chunk;
  while (good) {
    const ssize_t got = ::recv(fd, chunk.data(), chunk.size(), 0);
    if (got == 0) break;
    if (got < 0) good = errno == EINTR;
    else answer.append(chunk.data(), static_cast<std::size_t>(got));
  }
  if (!good && (errno == EACCES || errno == EPERM))
    return fail(path + ": " + std::strerror(errno) + "; only the daemon's own user and root may ask it (sudo)");
  if (!good) return fail(path + ": " + std::strerror(errno) + "; is the daemon running? (brimwatch run)");
  return answer;
}

}  // namespace brimwatch
