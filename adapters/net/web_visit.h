#pragma once
// One connection to the web server: one request and its answer, or a listener on the live path. For the server alone.
#include <array>
#include <list>
#include <memory>
#include <optional>
#include <string>

#include "adapters/net/request_checks.h"
#include "adapters/net/web_server_impl.h"
#include "adapters/net/web_stream.h"

namespace brimwatch {

/// Keeps itself alive while an operation is under way.
class WebVisit : public std::enable_shared_from_this<WebVisit> {
 public:
  /// `stranger`: of another user of this machine, who may read at the most.
  WebVisit(tcp::socket socket, std::shared_ptr<WebServer::Impl> server, bool stranger, bool may_answer);
  ~WebVisit();
  WebVisit(const WebVisit&) = delete;
  WebVisit& operator=(const WebVisit&) = delete;

  void start();
  void push(const std::shared_ptr<const std::string>& text);
  void close();
  /// Closes to make room for a newer visit.
  void yield();
  [[nodiscard]] bool listens() const { return listening_; }
  [[nodiscard]] const std::string& from() const { return from_; }
  /// A device that has been revoked meanwhile hears nothing more.
  [[nodiscard]] bool may_listen_on() const {
    return !server_->content.visitor || server_->content.visitor(cookie_).right != DeviceRight::none;
  }

 private:
  void read_header();
  void on_header(error_code error);
  void read_body();
  [[nodiscard]] std::optional<WebReply> refusal_of_post(const BodilessRequest& request) const;
  [[nodiscard]] std::optional<WebReply> refusal(const BodilessRequest& request) const;
  void reply(const WebReply& what, bool head);
  void ask(const BodilessRequest& request, std::string_view body);
  void refuse(const WebReply& what, bool head);
  void drain();
  void upgrade(BodilessRequest request);
  void read_on();
  void write_next();

  std::shared_ptr<WebServer::Impl> server_;
  std::string cookie_;
  std::string from_;  ///< the other side's address, as network_of says; empty: gone already
  WebStream stream_;
  beast::flat_buffer buffer_;
  http::request_parser<http::empty_body> parser_;
  std::optional<http::request_parser<http::string_body>> body_parser_;
  Visitor visitor_{DeviceRight::answer, "", "this machine"};
  http::response<http::span_body<const char>> response_;  ///< the text belongs to all who asked for it
  std::shared_ptr<const std::string> body_;               ///< of the response
  std::array<char, 4096> waste_{};
  std::size_t drained_ = 0;
  std::optional<WebSocketOfServer> socket_;
  std::shared_ptr<const std::string> writing_, next_;
  std::optional<std::list<WebVisit*>::iterator> place_;
  bool listening_ = false, stranger_ = false;
};

}  // namespace brimwatch
