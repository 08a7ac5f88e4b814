#pragma once
// Certificate and private key of a server. A certificate is renewed every few months: new ones are read beside those in
// force, off the loop, and take their place; what is open goes on with the old ones.
#include <memory>
#include <string>

#include "core/result.h"

namespace boost::asio::ssl {
class context;
}

namespace brimwatch {

class TlsKeys {
 public:
  /// Both PEM; the certificate with those between it and its root. The error names the file and what is wrong with it:
  /// not there, readable by others (the key), no such thing in it, the two do not belong together.
  static Result<std::shared_ptr<TlsKeys>> load(const std::string& certificate, const std::string& key);

  /// Those read anew take the place of these, for who connects from now on. On the loop's thread.
  void take(const TlsKeys& fresh) { current_ = fresh.current_; }
  [[nodiscard]] std::shared_ptr<boost::asio::ssl::context> current() const { return current_; }

 private:
  explicit TlsKeys(std::shared_ptr<boost::asio::ssl::context> context) : current_(std::move(context)) {}
  std::shared_ptr<boost::asio::ssl::context> current_;
};

}  // namespace brimwatch
