#pragma once
// Certificate and private key of a server. Read again when asked to (a certificate is renewed every few months): what is
// open goes on with the old ones, and where the new ones are no good, everything does.
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

  /// What is in force stays on an error.
  Status reload();
  [[nodiscard]] std::shared_ptr<boost::asio::ssl::context> current() const { return current_; }

 private:
  TlsKeys(std::string certificate, std::string key) : certificate_(std::move(certificate)), key_(std::move(key)) {}
  std::string certificate_, key_;
  std::shared_ptr<boost::asio::ssl::context> current_;
};

}  // namespace brimwatch
