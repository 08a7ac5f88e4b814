#pragma once
// The status page: what the web server shows of a running daemon. Routes: / with /page.css and its modules /*.js, /days
// (the days of all stocks in short, as JSON), /now (the snapshot as JSON), /day/SYMBOL (that stock's day, minute by
// minute, as JSON), /metrics (OpenMetrics), /base/SYMBOL.svg (the picture of a base), /live (a WebSocket that brings the
// snapshot when it changed).
//
// On the loop's thread; nothing of it changes the daemon.
#include <boost/asio/io_context.hpp>
#include <functional>
#include <memory>
#include <string>
#include <string_view>

#include "adapters/net/web_server.h"
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
  };

  static Result<std::unique_ptr<StatusPage>> open(boost::asio::io_context& loop, int port, Source source);

  [[nodiscard]] std::string address() const;  ///< "http://127.0.0.1:8190/"

 private:
  explicit StatusPage(Source source) : source_(std::move(source)) {}
  [[nodiscard]] WebReply answer(std::string_view path) const;
  [[nodiscard]] std::string day(std::string_view symbol) const;
  std::string live(bool fresh);

  Source source_;
  std::string last_told_;
  int rounds_silent_ = 0;
  std::unique_ptr<WebServer> server_;  // last: it calls the others
};

}  // namespace brimwatch
