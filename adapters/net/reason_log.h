#pragma once
// The library tells why a connection could not be made ("connection refused") only to its log, and hands on "underlying
// transport error". So this is a log that remembers the first such line: what fails later
// fails because of it.
#include <string>
#include <websocketpp/logger/levels.hpp>

namespace brimwatch {

class ReasonLog {
 public:
  explicit ReasonLog(websocketpp::log::channel_type_hint::value) {}
  ReasonLog(websocketpp::log::level, websocketpp::log::channel_type_hint::value) {}

  void set_channels(websocketpp::log::level) {}
  void clear_channels(websocketpp::log::level) {}
  void write(websocketpp::log::level, const std::string& line) {
    if (reason().empty()) first_ = line;
  }
  void write(websocketpp::log::level level, const char* line) { write(level, std::string(line)); }
  [[nodiscard]] bool static_test(websocketpp::log::level) const { return false; }
  bool dynamic_test(websocketpp::log::level) { return false; }

  /// "asio async_connect error: system:111 (Connection refused)" -> "Connection refused"; empty when nothing was said.
  [[nodiscard]] std::string reason() const {
    const std::size_t open = first_.find(" ("), close = first_.rfind(')');
    const bool found = open != std::string::npos && close != std::string::npos && close > open + 2;
    return found ? first_.substr(open + 2, close - open - 2) : std::string();
  }

 private:
  std::string first_;
};

}  // namespace brimwatch
