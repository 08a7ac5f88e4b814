#include "adapters/channels/curl_handle.h"

#include <sys/socket.h>

#include <algorithm>
#include <new>

#include "core/text/text.h"

namespace brimwatch {
namespace {

std::string part(CURLU* url, CURLUPart which) {
  char* text = nullptr;
  if (curl().url_get(url, which, &text, 0) != CURLUE_OK || text == nullptr) return {};
  std::string out = text;
  curl().free(text);
  return out;
}

}  // namespace

Result<UrlParts> parse_url(const std::string& text) {
  CURLU* url = curl().url();
  const CURLUcode code = curl().url_set(url, CURLUPART_URL, text.c_str(), CURLU_NON_SUPPORT_SCHEME);
  const UrlParts parts{part(url, CURLUPART_SCHEME), part(url, CURLUPART_HOST), false};
  const bool has_user = !part(url, CURLUPART_USER).empty() || !part(url, CURLUPART_PASSWORD).empty();
  curl().url_cleanup(url);
  const std::string shown = has_user ? "an address with a name or password" : "\"" + clean_line(text, 120) + "\"";
  if (code != CURLUE_OK || parts.host.empty() || text.find_first_of("\r\n") != std::string::npos) {
    return fail("url: found " + shown + ", expected scheme://host[:port]");
  }
  if (has_user)
    return fail("url: found " + shown + ", expected none in it: give user and password as settings of their own");
  return UrlParts{parts.scheme, parts.host, parts.host == "127.0.0.1" || parts.host == "[::1]"};
}

CurlHandle::CurlHandle() : handle_(curl().easy_init()) {
  if (handle_ == nullptr) throw std::bad_alloc();  // becomes a retry in make_channel's wrapper
}

CurlHandle::~CurlHandle() {
  // A server that does not answer QUIT would hold the clean-up for two minutes, whatever the time limit says.
  curl_socket_t socket = CURL_SOCKET_BAD;
  if (curl().easy_getinfo(handle_, CURLINFO_ACTIVESOCKET, &socket) == CURLE_OK && socket != CURL_SOCKET_BAD) {
    ::shutdown(socket, SHUT_RDWR);
  }
  curl().easy_cleanup(handle_);
  if (parts_ != nullptr) curl().mime_free(parts_);
  for (curl_slist* list : lists_) curl().slist_free_all(list);
}

void CurlHandle::set_list(CURLoption option, const std::vector<std::string>& values) {
  curl_slist* list = nullptr;
  for (const std::string& value : values) list = curl().slist_append(list, value.c_str());
  lists_.push_back(list);
  set(option, list);
}

void CurlHandle::add_part(const std::string& name, const std::string& file_name, const std::string& type,
                          std::string_view body) {
  if (parts_ == nullptr) parts_ = curl().mime_init(handle_);
  curl_mimepart* const part = curl().mime_addpart(parts_);
  bool fine = part != nullptr && curl().mime_name(part, name.c_str()) == CURLE_OK &&
              curl().mime_data(part, body.data(), body.size()) == CURLE_OK;
  if (fine && !file_name.empty()) fine = curl().mime_filename(part, file_name.c_str()) == CURLE_OK;
  if (fine && !type.empty()) fine = curl().mime_type(part, type.c_str()) == CURLE_OK;
  broken_ = broken_ || !fine;
}

void CurlHandle::set_parts() { set(CURLOPT_MIMEPOST, parts_); }

void CurlHandle::set_common(const std::string& url, const char* protocols, std::chrono::milliseconds timeout,
                            const std::string& ca_file, const std::string& proxy) {
  const long limit = static_cast<long>(timeout.count());
  set(CURLOPT_ERRORBUFFER, error_);
  set(CURLOPT_NOSIGNAL, 1L);
  set(CURLOPT_NETRC, static_cast<long>(CURL_NETRC_IGNORED));
  set(CURLOPT_URL, url.c_str());
  set(CURLOPT_PROTOCOLS_STR, protocols);
  set(CURLOPT_TIMEOUT_MS, limit);
  set(CURLOPT_CONNECTTIMEOUT_MS, std::min(limit, 10'000L));
  set(CURLOPT_SERVER_RESPONSE_TIMEOUT, std::max(1L, limit / 1000));
  set(CURLOPT_SSL_VERIFYPEER, 1L);
  set(CURLOPT_SSL_VERIFYHOST, 2L);
  set(CURLOPT_SSLVERSION, static_cast<long>(CURL_SSLVERSION_TLSv1_2));
  if (!ca_file.empty()) set(CURLOPT_CAINFO, ca_file.c_str());
  set(CURLOPT_PROXY, proxy.c_str());  // always set, or the environment would choose one
  set(CURLOPT_NOPROXY, "");
}

CURLcode CurlHandle::perform(std::string& words) {
  const CURLcode code = broken_ ? CURLE_UNKNOWN_OPTION : curl().easy_perform(handle_);
  words = error_[0] != '\0' ? error_ : curl().easy_strerror(code);
  return code;
}

long CurlHandle::response_code() const {
  long code = 0;
  curl().easy_getinfo(handle_, CURLINFO_RESPONSE_CODE, &code);
  return code;
}

curl_off_t CurlHandle::bytes_sent() const {
  curl_off_t bytes = 0;
  curl().easy_getinfo(handle_, CURLINFO_SIZE_UPLOAD_T, &bytes);
  return bytes;
}

}  // namespace brimwatch
