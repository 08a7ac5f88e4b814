#pragma once
// A WebSocket and HTTP server on this machine only, for a played source: it sends texts to connected clients and answers
// GET. It trusts its clients no more than any server should (pages of other sites get 403), and may be told to
// behave badly: to end connections with any code or none, to let nobody in, never to answer.
//
// All on the loop's thread; no callback may block. Handlers are never called from within a member function.
#include <boost/asio/io_context.hpp>
#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "core/result.h"

namespace brimwatch {

struct PushReply {
  int status = 200;  ///< 0: never answered
  std::string body;  ///< JSON
  std::string etag;  ///< empty: none
};

struct PushLimits {
  std::size_t connections_most = 16;
  std::size_t unsent_bytes_most = 64U << 20;   ///< for one client; one that is slower is closed with 1008
  std::size_t message_bytes_most = 1U << 20;   ///< of what a client says
  std::chrono::milliseconds patience{10'000};  ///< for a request, an answer, a sign of life
  std::chrono::milliseconds rest{200};         ///< after an accept that failed, for want of descriptors
};

struct PushCounters {
  std::uint64_t connections = 0, requests = 0;  ///< since the start
  std::uint64_t turned_away = 0, too_slow = 0;
};

class PushServer {
 public:
  using Client = std::uint64_t;
  struct Handlers {
    std::function<void(Client)> on_open;
    std::function<void(Client, std::string_view text)> on_text;
    std::function<void(Client, const std::string& why)> on_end;
    /// GET of a target ("/quotes?symbols=A"), with the client's If-None-Match.
    std::function<PushReply(std::string_view target, std::string_view if_none_match)> answer;
  };

  /// Port 0: one that is free.
  static Result<std::unique_ptr<PushServer>> listen(boost::asio::io_context& loop, int port, Handlers handlers,
                                                    PushLimits limits = {});
  ~PushServer();
  PushServer(const PushServer&) = delete;
  PushServer& operator=(const PushServer&) = delete;

  void send(Client client, std::shared_ptr<const std::string> text);
  /// Ends every connection, with this close code or none.
  void close_all(int code);
  void cut_all();
  /// While away, new connections are cut at once.
  void set_away(bool away);

  [[nodiscard]] int port() const;
  [[nodiscard]] const PushCounters& counters() const;

 private:
  friend class PushVisit;
  struct Impl;
  explicit PushServer(std::shared_ptr<Impl> impl) : impl_(std::move(impl)) {}
  std::shared_ptr<Impl> impl_;
};

}  // namespace brimwatch
