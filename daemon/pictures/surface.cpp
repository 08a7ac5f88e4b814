// Strokes as PNG bytes, over cairo.
#include "pictures/surface.h"

#include <memory>
#include <stdexcept>

#include "adapters/libraries/cairo.h"
#include "pictures/cairo_painter.h"

namespace brimwatch {
namespace {

using Surface = std::unique_ptr<cairo_surface_t, decltype(&cairo_surface_destroy)>;
using Context = std::unique_ptr<cairo_t, decltype(&cairo_destroy)>;

cairo_status_t append(void* closure, const unsigned char* data, unsigned int length) {
  auto& out = *static_cast<std::vector<std::uint8_t>*>(closure);
  out.insert(out.end(), data, data + length);
  return CAIRO_STATUS_SUCCESS;
}

/// Where it is not, there are no such pictures, and everything else goes on.
bool can_draw() {
  try {
    (void)cairo();
    return true;
  } catch (const std::runtime_error&) {
    return false;
  }
}

}  // namespace

std::vector<std::uint8_t> png_of(int width, int height, const std::function<void(Canvas&)>& draw) {
  if (!can_draw()) return {};
  Canvas canvas;
  draw(canvas);
  const Surface surface(cairo().image_surface_create(CAIRO_FORMAT_RGB24, width, height), cairo().surface_destroy);
  const Context context(cairo().create(surface.get()), cairo().destroy);
  paint(canvas, context.get());
  std::vector<std::uint8_t> png;
  const cairo_status_t status = cairo().surface_write_to_png_stream(surface.get(), &append, &png);
  if (status != CAIRO_STATUS_SUCCESS) png.clear();
  return png;
}

}  // namespace brimwatch
