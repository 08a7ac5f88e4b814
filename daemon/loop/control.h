#pragma once
// The control socket: how `brimwatch now` and its like talk to a running daemon. A Unix socket, mode 0600, peers of our
// own user (or root) only. One request a line, one answer: `{"ask":"now"}` -> one JSON object a line, then the end of the
// stream.
#include <boost/asio/io_context.hpp>
#include <chrono>
#include <functional>
#include <memory>
#include <string>
#include <string_view>

#include "core/result.h"

namespace brimwatch {

/// Server side, on the loop's thread. Requests are at most 4 KiB; at most 16 peers at once, of whom the oldest
/// that has not asked makes room for the next; a slow one is dropped after 5 s, and one to whom an answer is owed 60 s
/// after it asked.
class ControlServer {
 public:
  using Reply = std::function<void(std::string answer)>;
  /// Called with one request line; gives the whole answer to `reply` once, now or later, on the loop's thread.
  using Handler = std::function<void(std::string_view request, Reply reply)>;

  static Result<std::unique_ptr<ControlServer>> listen(boost::asio::io_context& loop, const std::string& path,
                                                       Handler handler);
  ~ControlServer();
  ControlServer(const ControlServer&) = delete;
  ControlServer& operator=(const ControlServer&) = delete;

 private:
  struct Impl;
  explicit ControlServer(std::shared_ptr<Impl> impl) : impl_(std::move(impl)) {}
  std::shared_ptr<Impl> impl_;
};

/// Client side, blocking, with a time limit. Fails when no daemon listens there.
[[nodiscard]] Result<std::string> ask_daemon(const std::string& path, std::string_view request,
                                             std::chrono::seconds patience = std::chrono::seconds(5));

/// A daemon listens there, and we may ask it.
[[nodiscard]] bool daemon_listens(const std::string& path);

}  // namespace brimwatch
