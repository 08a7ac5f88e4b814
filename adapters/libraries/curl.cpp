#include "adapters/libraries/curl.h"

#include <stdexcept>

namespace brimwatch {

const CurlLibrary& curl() {
  static const CurlLibrary library;
  // Once a process; never cleaned up, as libcurl allows.
  static const CURLcode ready = library.global_init(CURL_GLOBAL_DEFAULT);
  if (ready != CURLE_OK) throw std::runtime_error("libcurl cannot start: " + std::string(library.easy_strerror(ready)));
  return library;
}

}  // namespace brimwatch
