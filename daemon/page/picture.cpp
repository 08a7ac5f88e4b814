#include "page/picture.h"

#include <cairo-svg.h>
#include <cairo.h>

#include <memory>

#include "core/wording.h"
#include "page/canvas.h"
#include "page/picture_draw.h"

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

void draw_on(cairo_surface_t* surface, const DayPicture& day, PictureStyle style) {
  const Context cairo(cairo_create(surface), &cairo_destroy);
  Canvas canvas(cairo.get());
  draw(canvas, day, style);
}

}  // namespace

DayPicture picture_of(const NoticeRecord& record) {
  const Notice& notice = record.notice;
  const VolumeView& volume = notice.volume;
  DayPicture day;
  day.symbol = record.symbol;
  day.day = notice.day;
  day.pivot = notice.pivot.as_double();
  day.range_top = notice.range_top.as_double();
  day.loss_limit = notice.loss_limit.as_double();
  day.normal = volume.normal.as_double();
  day.needed = volume.needed;
  if (volume.weight != Weight::unknown) {
    day.projected = volume.projected;
    day.low = volume.low;
    day.high = volume.high;
  }
  day.judgement = odds_phrase(volume);
  return day;
}

std::vector<std::uint8_t> picture_png(const DayPicture& day, PictureStyle style) {
  const Surface surface(cairo_image_surface_create(CAIRO_FORMAT_RGB24, kPictureWidth, kPictureHeight),
                        &cairo_surface_destroy);
  draw_on(surface.get(), day, style);
  std::vector<std::uint8_t> png;
  const cairo_status_t status =
      cairo_surface_write_to_png_stream(surface.get(), &append<std::vector<std::uint8_t>>, &png);
  if (status != CAIRO_STATUS_SUCCESS) png.clear();
  return png;
}

std::string picture_svg(const DayPicture& day, PictureStyle style) {
  std::string svg;
  const Surface surface(cairo_svg_surface_create_for_stream(&append<std::string>, &svg, kPictureWidth, kPictureHeight),
                        &cairo_surface_destroy);
  draw_on(surface.get(), day, style);
  cairo_surface_finish(surface.get());
  return svg;
}

}  // namespace brimwatch
