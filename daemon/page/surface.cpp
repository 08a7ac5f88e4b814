#include "page/surface.h"

#include <cairo-svg.h>
#include <cairo.h>

#include <memory>

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
  const Context cairo(cairo_create(surface), &cairo_destroy);
  Canvas canvas(cairo.get());
  draw(canvas);
}

}  // namespace

std::vector<std::uint8_t> png_of(int width, int height, const std::function<void(Canvas&)>& draw) {
  const Surface surface(cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height), &cairo_surface_destroy);
  draw_on(surface.get(), draw);
  std::vector<std::uint8_t> png;
  const cairo_status_t status =
      cairo_surface_write_to_png_stream(surface.get(), &append<std::vector<std::uint8_t>>, &png);
  if (status != CAIRO_STATUS_SUCCESS) png.clear();
  return png;
}

std::string svg_of(int width, int height, const std::function<void(Canvas&)>& draw) {
  std::string svg;
  const Surface surface(cairo_svg_surface_create_for_stream(&append<std::string>, &svg, width, height),
                        &cairo_surface_destroy);
  draw_on(surface.get(), draw);
  cairo_surface_finish(surface.get());
  return svg;
}

}  // namespace brimwatch
