#include "adapters/libraries/cairo.h"

namespace brimwatch {

const CairoLibrary& cairo() {
  static const CairoLibrary library;
  return library;
}

}  // namespace brimwatch
