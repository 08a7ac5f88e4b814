#pragma once
// The control socket: how `brimwatch now` and its like talk to a running daemon. A Unix socket, mode 0600, peers of our
// own user (or root) only. One request a line, one answer: `{"ask":"now"}` -> one JSON object a line, then the end of the
// stream.
#include <boost/asio/io_context.hpp>
#include <functional>
#include <memory>
#include <string>
#include <string_view>

#include "core/result.h"

namespace brimwatch {

/// Server side, on the loop's thread. Requests are at most 4 KiB; at most 16 peers at once; a slow one is dropped after 5
/// s.
class ControlServer {
 public:
  /// Called with one request line; returns the whole answer.
  using Handler = std::function<std::string(std::string_view request)>;

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

/// Client side, blocking, with a time limit of 5 s. Fails when no daemon listens there.
[[nodiscard]] Result<std::string> ask_daemon(const std::string& path, std::string_view request);

}  // namespace brimwatch
