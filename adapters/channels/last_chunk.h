#pragma once
// A body on its way into libcurl whose last bytes leave only while it may be sent: a receiver takes nothing that has no
// end.
#include <algorithm>
#include <functional>
#include <string_view>

#include "adapters/libraries/curl.h"

namespace brimwatch {

struct LastChunk {
  std::string_view rest;
  const std::function<bool()>& may_send;

  static std::size_t give(char* buffer, std::size_t size, std::size_t count, void* user) {
    auto& body = *static_cast<LastChunk*>(user);
    const std::size_t some = std::min(size * count, body.rest.size());
    if (some == body.rest.size() && body.may_send && !body.may_send()) return CURL_READFUNC_ABORT;
    body.rest.copy(buffer, some);
    body.rest.remove_prefix(some);
    return some;
  }
};

}  // namespace brimwatch
