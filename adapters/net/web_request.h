#pragma once
// What the web server hands to its content, and what it is given back.
#include <memory>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/device_right.h"

namespace brimwatch {

/// The texts are the server's, and gone when the call is over.
struct WebRequest {
  std::string_view path;  ///< as asked, with its query
  Visitor visitor;
  bool post = false;           ///< asks for a change; false: GET or HEAD
  std::string_view body{};     ///< of a POST, JSON; at most WebLimits::body_bytes_most
  std::string_view browser{};  ///< what it calls itself (User-Agent); any text
};

struct WebReply {
  WebReply(int code, std::string kind, std::string text)
      : WebReply(code, std::move(kind), std::make_shared<const std::string>(std::move(text))) {}
  WebReply(int code, std::string kind, std::shared_ptr<const std::string> text)
      : status(code), type(std::move(kind)), body(std::move(text)) {}

  int status;
  std::string type;                         ///< of the body, e.g. "text/html; charset=utf-8"
  std::shared_ptr<const std::string> body;  ///< one for all who asked for it
  std::string cookie{};                     ///< value of Set-Cookie; empty: none
};

}  // namespace brimwatch
