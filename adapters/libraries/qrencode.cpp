#include "adapters/libraries/qrencode.h"

namespace brimwatch {

const QrencodeLibrary& qrencode() {
  static const QrencodeLibrary library;
  return library;
}

}  // namespace brimwatch
