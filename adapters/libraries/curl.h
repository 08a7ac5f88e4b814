#pragma once
// What is used of libcurl.so.4, by the library's own names without "curl_": curl().easy_cleanup(...). A new one: one line
// here.
#include <curl/curl.h>

#include "adapters/libraries/late_library.h"

namespace brimwatch {

#define CURL_FUNCTION(name) decltype(&::curl_##name) name = library.function<decltype(&::curl_##name)>("curl_" #name)
struct CurlLibrary {
  LateLibrary library{"libcurl.so.4"};
  CURL_FUNCTION(easy_cleanup);
  CURL_FUNCTION(easy_getinfo);
  CURL_FUNCTION(easy_init);
  CURL_FUNCTION(easy_perform);
  CURL_FUNCTION(easy_setopt);
  CURL_FUNCTION(easy_strerror);
  CURL_FUNCTION(free);
  CURL_FUNCTION(global_init);
  CURL_FUNCTION(mime_addpart);
  CURL_FUNCTION(mime_data);
  CURL_FUNCTION(mime_filename);
  CURL_FUNCTION(mime_free);
  CURL_FUNCTION(mime_init);
  CURL_FUNCTION(mime_name);
  CURL_FUNCTION(mime_type);
  CURL_FUNCTION(multi_add_handle);
  CURL_FUNCTION(multi_cleanup);
  CURL_FUNCTION(multi_info_read);
  CURL_FUNCTION(multi_init);
  CURL_FUNCTION(multi_remove_handle);
  CURL_FUNCTION(multi_setopt);
  CURL_FUNCTION(multi_socket_action);
  CURL_FUNCTION(slist_append);
  CURL_FUNCTION(slist_free_all);
  CURL_FUNCTION(url);
  CURL_FUNCTION(url_cleanup);
  CURL_FUNCTION(url_get);
  CURL_FUNCTION(url_set);
  CURL_FUNCTION(version_info);
};
#undef CURL_FUNCTION

/// Loaded by whoever comes first, from any thread. Throws std::runtime_error where it cannot be loaded.
[[nodiscard]] const CurlLibrary& curl();

}  // namespace brimwatch
