#include "pictures/surface.h"

#include <memory>
#include <stdexcept>

#include "adapters/libraries/cairo.h"

namespace brimwatch {
namespace {

using Surface = std::unique_ptr<cairo_surface_t, decltype(&cairo_surface_destroy)>;
using Context = std::unique_ptr<cairo_t, decltype(&cairo_destroy)>;

template <typename Container>
cairo_status_t append(void* closure, const unsigned char* data, unsigned int length) {
  auto& out = *static_cast<Container*>(closure);
  out.insert(out.end(), data, data + length);
  return CAIRO_STATUS_SUCCESS;
}

void draw_on(cairo_surface_t* surface, const std::function<void(Canvas&)>& draw) {
  const Context context(cairo().create(surface), cairo().destroy);
  Canvas canvas(context.get());
  draw(canvas);
}

/// Where it is not, there are no pictures, and everything else goes on.
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
  const Surface surface(cairo().image_surface_create(CAIRO_FORMAT_RGB24, width, height), cairo().surface_destroy);
  draw_on(surface.get(), draw);
  std::vector<std::uint8_t> png;
  const cairo_status_t status =
      cairo().surface_write_to_png_stream(surface.get(), &append<std::vector<std::uint8_t>>, &png);
  if (status != CAIRO_STATUS_SUCCESS) png.clear();
  return png;
}

std::string svg_of(int width, int height, const std::function<void(Canvas&)>& draw) {
  if (!can_draw()) return {};
  std::string svg;
  const Surface surface(cairo().svg_surface_create_for_stream(&append<std::string>, &svg, width, height),
                        cairo().surface_destroy);
  draw_on(surface.get(), draw);
  cairo().surface_finish(surface.get());
  return svg;
}

}  // namespace brimwatch
