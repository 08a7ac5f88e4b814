#pragma once
// A web server on loopback (https_peer.py) that says what it was asked.

#include "core/text/json.h"
#include "tests/support/peer.h"

namespace brimwatch::testing_support {

class WebPeer {
 public:
  /// In the clear; the answers one after the other, the last one for ever.
  explicit WebPeer(const std::vector<std::string>& answers) : peer_(argv(answers)) { port_ = peer_.line(); }
  [[nodiscard]] std::string url(const std::string& path) const { return "http://127.0.0.1:" + port_ + path; }
  OrderedJson request() {
    const std::string line = peer_.line();
    return line.empty() ? OrderedJson() : OrderedJson::parse(line);
  }
  bool was_asked() {
    std::string line;
    return peer_.take_line(line);
  }

 private:
  static std::vector<std::string> argv(const std::vector<std::string>& answers) {
    std::vector<std::string> all{"/usr/bin/python3", BRIMWATCH_SOURCE_DIR "/tests/channels/https_peer.py"};
    for (const std::string& answer : answers) all.insert(all.end(), {"--answer", answer});
    return all;
  }
  Peer peer_;
  std::string port_;
};

}  // namespace brimwatch::testing_support
