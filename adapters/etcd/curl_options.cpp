#include "adapters/etcd/curl_options.h"

#include <algorithm>

namespace brimwatch {

void set_shared_options(void* handle, const SharedSettings& settings, const std::string& url, Nanos patience) {
  const long limit = std::max(1L, static_cast<long>(patience / 1'000'000));
  set_option(handle, CURLOPT_NOSIGNAL, 1L);
  set_option(handle, CURLOPT_NETRC, static_cast<long>(CURL_NETRC_IGNORED));
  set_option(handle, CURLOPT_URL, url.c_str());
  set_option(handle, CURLOPT_PROTOCOLS_STR, settings.insecure_loopback ? "http,https" : "https");
  set_option(handle, CURLOPT_PROXY, "");
  set_option(handle, CURLOPT_FOLLOWLOCATION, 0L);
  set_option(handle, CURLOPT_HTTP_VERSION, static_cast<long>(CURL_HTTP_VERSION_1_1));
  set_option(handle, CURLOPT_TCP_NODELAY, 1L);
  set_option(handle, CURLOPT_TIMEOUT_MS, limit);
  set_option(handle, CURLOPT_CONNECTTIMEOUT_MS, std::max(1L, limit / 2));
  set_option(handle, CURLOPT_SSL_VERIFYPEER, 1L);
  set_option(handle, CURLOPT_SSL_VERIFYHOST, 2L);
  set_option(handle, CURLOPT_SSLVERSION, static_cast<long>(CURL_SSLVERSION_TLSv1_2));
  if (!settings.ca_file.empty()) set_option(handle, CURLOPT_CAINFO, settings.ca_file.c_str());
  if (!settings.certificate.empty()) {
    set_option(handle, CURLOPT_SSLCERT, settings.certificate.c_str());
    set_option(handle, CURLOPT_SSLKEY, settings.key.c_str());
  }
}

}  // namespace brimwatch
