#include "pictures/picture.h"

#include "core/wording.h"
#include "pictures/picture_draw.h"
#include "pictures/surface.h"

namespace brimwatch {
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
  day.weight = volume.weight;
  day.judgement = odds_phrase(volume);
  return day;
}

std::vector<std::uint8_t> picture_png(const DayPicture& day, PictureStyle style) {
  return png_of(kPictureWidth, kPictureHeight, [&](Canvas& canvas) { draw(canvas, day, style); });
}

std::string picture_svg(const DayPicture& day, PictureStyle style) {
  return svg_of(kPictureWidth, kPictureHeight, [&](Canvas& canvas) { draw(canvas, day, style); });
}

}  // namespace brimwatch
