#pragma once
// What every request within a house has in common: TLS as [shared] says, no proxy, no redirect, a limit of time.
#include <string>

#include "adapters/libraries/curl.h"
#include "config/settings.h"
#include "core/text/timestamp.h"

namespace brimwatch {

template <typename Value>
void set_option(void* handle, CURLoption option, Value value) {
  (void)curl().easy_setopt(static_cast<CURL*>(handle), option, value);
}

void set_shared_options(void* handle, const SharedSettings& settings, const std::string& url, Nanos patience);

}  // namespace brimwatch
