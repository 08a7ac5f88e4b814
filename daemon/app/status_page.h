#pragma once
// The status page: what the web server shows of a running daemon. Routes: / with /page.css and its modules /*.js, /days
// (the days of all stocks in short, as JSON), /now (the snapshot as JSON), /day/SYMBOL (that stock's day, minute by
// minute, as JSON), /metrics (OpenMetrics), /base/SYMBOL.svg (the picture of a base), /live (a WebSocket that brings the
// snapshot when it changed), /token (what an answer must bring). An answer of its user is a POST to /answer, in the form
// of the control socket (config/control.schema.json); nothing else changes the daemon.
//
// On the loop's thread. Snapshots are gathered at most once a second, and made into
// text on another thread (shared_text.h).
#include <boost/asio/io_context.hpp>
#include <functional>
#include <memory>
#include <string>
#include <string_view>

#include "adapters/net/web_server.h"
#include "app/shared_text.h"
#include "core/result.h"
#include "core/snapshot.h"

namespace brimwatch {

class StatusPage {
 public:
  struct Source {
    std::function<Snapshot()> snapshot;
    std::function<std::chrono::seconds()> offset;               ///< of exchange time from UTC now
    std::function<std::string(std::string_view symbol)> base;   ///< its base as SVG, empty: none; may itself be empty
    std::function<std::string(std::string_view symbol)> day{};  ///< the day so far of one stock, JSON
    std::function<std::string()> days{};                        ///< the days of all stocks in short, JSON
    std::function<Nanos()> steady;
    RunAside aside;
    /// One request as JSON; `reply` gets the whole answer as JSON, and whether it is in force. Empty: nobody may answer.
    std::function<void(std::string_view request, std::function<void(std::string json, bool done)> reply)> change{};
  };

  /// `everybody`: every user of this machine may read it.
  static Result<std::unique_ptr<StatusPage>> open(boost::asio::io_context& loop, int port, bool everybody, Source source);

  [[nodiscard]] std::string address() const;  ///< "http://127.0.0.1:8190/"

 private:
  explicit StatusPage(Source source);
  void answer(std::string_view path, const WebServer::Content::Reply& reply) const;
  void change(std::string_view path, std::string_view body, const WebServer::Content::Reply& reply) const;
  [[nodiscard]] WebReply ready(std::string_view path) const;
  [[nodiscard]] std::string day(std::string_view symbol) const;
  void live(bool fresh, WebServer::Content::Text text);
  [[nodiscard]] bool is_news(const std::string& with_essence);

  Source source_;
  std::string token_;
  SharedText now_, metrics_;
  SharedText live_;  ///< the essence, a zero byte, and the snapshot as JSON
  std::string last_told_;
  int rounds_silent_ = 0;
  std::shared_ptr<bool> alive_ = std::make_shared<bool>(true);
  std::unique_ptr<WebServer> server_;  // last: it calls the others
};

}  // namespace brimwatch
