#pragma once
// The picture of one stock's day: price with pivot, buy range and loss limit above; cumulative volume against its usual
// curve, with the projected end and its 80 % interval, below. Pure: the same data gives the same picture.
//
// Readable small and by the colour-blind (palette.h); every line carries its name, colour never says it alone.
#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "core/notice.h"
#include "core/text/timestamp.h"
#include "pictures/palette.h"

namespace brimwatch {

/// Minutes are minutes of trading since the open. Prices and shares are plain doubles: they are drawn, never compared.
struct DayPicture {
  struct Point {
    double minute = 0, value = 0;
  };
  struct Mark {
    double minute = 0, price = 0;
    std::string label;  ///< "crossed 10:42"
  };
  std::string symbol;
  Date day;
  double session_minutes = 390;
  double open_minute = 570;   ///< of the exchange's local day: 570 = 09:30
  double now_minute = 0;      ///< how far the day has come
  std::vector<Point> price;   ///< ascending; one a minute is plenty
  std::vector<Point> volume;  ///< cumulative, shares
  std::vector<Point> usual;   ///< usual cumulative share of the day, up to 1 at the close; empty: even
  double pivot = 0, range_top = 0, loss_limit = 0;  ///< 0: not drawn
  double normal = 0;                                ///< a normal day's volume, shares; 0: not known
  double needed = 40;                               ///< surge wanted, percent
  double projected = 0, low = 0, high = 0;          ///< the day's total and its 80 % interval; 0: none
  Weight weight = Weight::unknown;                  ///< of the volume, for pictures without words
  std::string judgement;                            ///< "odds of +40 %: 0.94, heavy"
  std::vector<Mark> marks;                          ///< notices of the day; the last three are labelled
  std::vector<std::pair<double, double>> holes;     ///< minutes in which the feed was blind
};

constexpr int kPictureWidth = 720, kPictureHeight = 600;

/// What a notice knows of its day: symbol, levels, normal and projected volume, judgement. The caller adds the session,
/// the series, marks and holes.
[[nodiscard]] DayPicture picture_of(const NoticeRecord& record);

/// PNG bytes; empty only when there is no memory for it.
[[nodiscard]] std::vector<std::uint8_t> picture_png(const DayPicture& day, PictureStyle style = PictureStyle::light);

/// The same as SVG text, its letters drawn as shapes: give it a description of its own where it is shown.
[[nodiscard]] std::string picture_svg(const DayPicture& day, PictureStyle style = PictureStyle::light);

}  // namespace brimwatch
