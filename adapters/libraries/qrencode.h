#pragma once
// What is used of libqrencode.so.4, by the library's own names without "QRcode_".
#include <qrencode.h>

#include "adapters/libraries/late_library.h"

namespace brimwatch {

struct QrencodeLibrary {
  LateLibrary library{"libqrencode.so.4"};
  decltype(&::QRcode_encodeString) encode_string =
      library.function<decltype(&::QRcode_encodeString)>("QRcode_encodeString");
  decltype(&::QRcode_free) free = library.function<decltype(&::QRcode_free)>("QRcode_free");
};

/// Loaded by whoever comes first. Throws std::runtime_error where it cannot be loaded.
[[nodiscard]] const QrencodeLibrary& qrencode();

}  // namespace brimwatch
