#pragma once
// What is used of libmosquitto.so.1, by the library's own names without "mosquitto_": mosquitto().connect(...). A new
// one: one line here.
#include <mosquitto.h>

#include "adapters/libraries/late_library.h"

namespace brimwatch {

#define MOSQUITTO_FUNCTION(name) \
  decltype(&::mosquitto_##name) name = library.function<decltype(&::mosquitto_##name)>("mosquitto_" #name)
struct MosquittoLibrary {
  LateLibrary library{"libmosquitto.so.1"};
  decltype(&::mosquitto_new) make = library.function<decltype(&::mosquitto_new)>("mosquitto_new");
  MOSQUITTO_FUNCTION(lib_init);
  MOSQUITTO_FUNCTION(destroy);
  MOSQUITTO_FUNCTION(username_pw_set);
  MOSQUITTO_FUNCTION(tls_set);
  MOSQUITTO_FUNCTION(tls_opts_set);
  MOSQUITTO_FUNCTION(int_option);
  MOSQUITTO_FUNCTION(connect_callback_set);
  MOSQUITTO_FUNCTION(publish_callback_set);
  MOSQUITTO_FUNCTION(connect);
  MOSQUITTO_FUNCTION(publish);
  MOSQUITTO_FUNCTION(loop);
  MOSQUITTO_FUNCTION(disconnect);
  MOSQUITTO_FUNCTION(strerror);
  MOSQUITTO_FUNCTION(connack_string);
};
#undef MOSQUITTO_FUNCTION

/// Loaded by whoever comes first, from any thread. Throws std::runtime_error where it cannot be loaded.
[[nodiscard]] const MosquittoLibrary& mosquitto_library();

}  // namespace brimwatch
