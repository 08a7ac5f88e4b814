#include "adapters/libraries/mosquitto.h"

#include <stdexcept>

namespace brimwatch {

const MosquittoLibrary& mosquitto_library() {
  static const MosquittoLibrary library;
  static const int ready = library.lib_init();  // once a process
  if (ready != MOSQ_ERR_SUCCESS) throw std::runtime_error("libmosquitto cannot start");
  return library;
}

}  // namespace brimwatch
