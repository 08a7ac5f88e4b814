#pragma once
// The status page: what the web server shows of a running daemon. Routes: / with /page.css and its modules /*.js, /days
// (the days of all stocks in short, as JSON), /now (the snapshot as JSON), /day/SYMBOL (that stock's day, minute by
// minute, as JSON), /metrics (OpenMetrics), /healthz (it answers), /readyz (nothing keeps it from its work, else 503 and
// what does), /base/SYMBOL.svg (the picture of a base), /live (a WebSocket that brings the
// snapshot when it changed), /token (what an answer must bring). An answer of its user is a POST to /answer, in the form
// of the control socket (config/control.schema.json); nothing else changes the daemon.
//
// On the loop's thread. A POST changes something, and is for who may answer: see Source::post; it brings the word of
// /token, which no other page can have read. Snapshots are gathered at most once a second, and made into text on another
// thread (shared_text.h).
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
    /// What one who has the right to answer has POSTed to /answer from our own page: one request as JSON. `reply` gets
    /// the whole answer as JSON, and whether it is in force. May be empty.
    std::function<void(const WebRequest& request, std::function<void(std::string json, bool done)> reply)> post{};
    /// Whatever concerns devices themselves (pairing, who am I, push), from anybody; false: not one of its paths.
    std::function<bool(const WebRequest& request, const WebServer::Content::Reply& reply)> devices{};
    std::function<Visitor(std::string_view cookie)> visitor{};  ///< beyond this machine
  };

  /// `everybody`: every user of this machine may read it.
  static Result<std::unique_ptr<StatusPage>> open(boost::asio::io_context& loop, int port, bool everybody, Source source);

  /// Serves it there too, for paired devices. What was served beyond this machine before ends.
  Status open_to_devices(boost::asio::io_context& loop, const WebPlace& place);
  void close_to_devices() { far_.reset(); }

  [[nodiscard]] std::string address() const;  ///< "http://127.0.0.1:8190/"

 private:
  explicit StatusPage(Source source);
  [[nodiscard]] WebServer::Content content();
  void answer(const WebRequest& request, const WebServer::Content::Reply& reply) const;
  void post(const WebRequest& request, const WebServer::Content::Reply& reply) const;
  [[nodiscard]] WebReply ready(std::string_view path) const;
  void readiness(bool may_look, const WebServer::Content::Reply& reply) const;
  [[nodiscard]] std::string day(std::string_view symbol) const;
  void live(bool fresh, WebServer::Content::Text text);
  [[nodiscard]] bool is_news(const std::string& with_essence);

  Source source_;
  std::string token_;
  SharedText now_, metrics_, readiness_;
  SharedText live_;  ///< the essence, a zero byte, and the snapshot as JSON
  std::string last_told_;
  int rounds_silent_ = 0;
  std::shared_ptr<bool> alive_ = std::make_shared<bool>(true);
  std::unique_ptr<WebServer> server_, far_;  // last: they call the others
};

}  // namespace brimwatch
