#pragma once
// libcurl, as mail and webhook use it: certificates verified always, only the protocols asked for, no signals.
#include <chrono>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/libraries/curl.h"
#include "core/result.h"

namespace brimwatch {

struct UrlParts {
  std::string scheme, host;
  bool loopback = false;  ///< host is 127.0.0.1 or ::1 as such; a name may resolve to anything
};

/// Parsed by libcurl, so that what is checked is what is used. Refuses addresses with a user or password.
[[nodiscard]] Result<UrlParts> parse_url(const std::string& url);

/// An easy handle and the lists that have to live as long.
class CurlHandle {
 public:
  CurlHandle();
  ~CurlHandle();
  CurlHandle(const CurlHandle&) = delete;
  CurlHandle& operator=(const CurlHandle&) = delete;

  [[nodiscard]] CURL* get() const { return handle_; }
  template <typename Value>
  void set(CURLoption option, Value value) {
    if (curl().easy_setopt(handle_, option, value) != CURLE_OK) broken_ = true;
  }
  /// A list option (headers, recipients).
  void set_list(CURLoption option, const std::vector<std::string>& values);
  /// Parts of a multipart/form-data (RFC 7578), all before set_parts(). The body is copied.
  void add_part(const std::string& name, const std::string& file_name, const std::string& type, std::string_view body);
  void set_parts();
  /// `url`, `protocols` ("smtp,smtps"), timeout, verification; `ca_file` and `proxy` may be empty. The environment
  /// chooses no proxy: what is signed for one would be another's.
  void set_common(const std::string& url, const char* protocols, std::chrono::milliseconds timeout,
                  const std::string& ca_file, const std::string& proxy);

  /// CURLE_OK, or why not; `words` gets it in words.
  [[nodiscard]] CURLcode perform(std::string& words);
  [[nodiscard]] long response_code() const;
  [[nodiscard]] curl_off_t bytes_sent() const;  ///< of the body

 private:
  CURL* handle_;
  std::vector<curl_slist*> lists_;
  curl_mime* parts_ = nullptr;
  bool broken_ = false;
  char error_[CURL_ERROR_SIZE] = {};
};

}  // namespace brimwatch
