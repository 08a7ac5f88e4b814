#include "adapters/channels/desktop/pixels.h"

#include <algorithm>
#include <cstring>
#include <memory>

#include "adapters/libraries/cairo.h"

namespace brimwatch {
namespace {

struct Source {
  const std::vector<std::uint8_t>& bytes;
  std::size_t at = 0;
};

cairo_status_t give(void* closure, unsigned char* data, unsigned int length) {
  auto& source = *static_cast<Source*>(closure);
  if (source.bytes.size() - source.at < length) return CAIRO_STATUS_READ_ERROR;
  std::memcpy(data, source.bytes.data() + source.at, length);
  source.at += length;
  return CAIRO_STATUS_SUCCESS;
}

using Surface = std::unique_ptr<cairo_surface_t, decltype(&cairo_surface_destroy)>;

/// One pixel of cairo's (premultiplied, in native byte order) as R, G, B, A.
void append(std::vector<std::uint8_t>& out, std::uint32_t pixel, bool has_alpha) {
  const std::uint32_t alpha = has_alpha ? pixel >> 24 : 255;
  for (const int shift : {16, 8, 0}) {
    const std::uint32_t value = pixel >> shift & 255;
    out.push_back(static_cast<std::uint8_t>(alpha == 0 ? 0 : std::min<std::uint32_t>(255, value * 255 / alpha)));
  }
  out.push_back(static_cast<std::uint8_t>(alpha));
}

}  // namespace

std::optional<Pixels> pixels_of(const std::vector<std::uint8_t>& png) {
  constexpr int kMost = 4096;
  Source source{png};
  const Surface surface(cairo().image_surface_create_from_png_stream(&give, &source), cairo().surface_destroy);
  if (cairo().surface_status(surface.get()) != CAIRO_STATUS_SUCCESS) return std::nullopt;
  const cairo_format_t format = cairo().image_surface_get_format(surface.get());
  if (format != CAIRO_FORMAT_ARGB32 && format != CAIRO_FORMAT_RGB24) return std::nullopt;
  Pixels out{cairo().image_surface_get_width(surface.get()), cairo().image_surface_get_height(surface.get()), {}};
  if (out.width <= 0 || out.height <= 0 || out.width > kMost || out.height > kMost) return std::nullopt;
  out.rgba.reserve(static_cast<std::size_t>(out.width) * static_cast<std::size_t>(out.height) * 4);
  const unsigned char* row = cairo().image_surface_get_data(surface.get());
  const int stride = cairo().image_surface_get_stride(surface.get());
  for (int y = 0; y < out.height; ++y, row += stride) {
    for (int x = 0; x < out.width; ++x) {
      std::uint32_t pixel = 0;
      std::memcpy(&pixel, row + static_cast<std::ptrdiff_t>(x) * 4, 4);
      append(out.rgba, pixel, format == CAIRO_FORMAT_ARGB32);
    }
  }
  return out;
}

}  // namespace brimwatch
