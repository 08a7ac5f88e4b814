#include "weekend/picture.h"

#include <fmt/core.h>

#include <algorithm>

#include "core/text/text.h"
#include "pictures/surface.h"
#include "weekend/panels.h"

namespace brimwatch {
namespace {

constexpr double kTitle = 18, kWords = 12, kLine = 16;
constexpr DaysFrame kWhole{16, 836, kBaseWidth, {118, 424}, {452, 536}, kWords, 8};
constexpr Panel kStrength{564, 614}, kWeeks{652, 786};

/// Under the paper of the whole picture: a drawing of its own, its letters as large as they are to be read.
constexpr Box kBeside{0, kBaseHeight + 80, 480, kBaseHeight + 80 + 480.0 * kBaseHeight / kBaseWidth};
constexpr DaysFrame kBesideFrame{
    8, 362, kBeside.right, {kBeside.top + 30, kBeside.top + 282}, {kBeside.top + 322, kBeside.top + 400}, 14, 5};

std::string name_of(const Candidate& one) {
  return one.symbol + ": " + std::string(to_string(one.facts.kind)) + ", pivot " + to_string(one.facts.pivot);
}

std::string outlook_words(const Candidate& one) {
  if (!one.outlook) return "no ordinary move is known: the history is too short";
  const Outlook& o = *one.outlook;
  return fmt::format(
      "{:.1f} ordinary moves ({:.1f} % a day) to the pivot; some {:.0f} of 100 cross within a week; of 1,000 such "
      "crossings {:.0f} rose 20 % before falling 8 %, {:.0f} fell first",
      o.moves_to_pivot, o.move.percent, 100 * o.cross_in_5, 1000 * o.up20_first, 1000 * o.down8_first);
}

/// In lines of at most `wide` pixels.
std::vector<std::string> broken(const std::string& words, double size, double wide) {
  std::vector<std::string> lines(1);
  for (std::size_t from = 0; from < words.size();) {
    const std::size_t end = std::min(words.find(' ', from), words.size());
    const std::string word = words.substr(from, end - from);
    std::string& last = lines.back();
    if (last.empty() || Canvas::text_width(last + " " + word, size) <= wide) last += (last.empty() ? "" : " ") + word;
    else lines.push_back(word);
    from = end + 1;
  }
  return lines;
}

/// At most five lines: what a base keeps and breaks is listed in full by `prepare --symbol`.
void caption(Canvas& canvas, const Palette& c, const Candidate& one) {
  constexpr std::size_t kLinesMost = 5;
  const Facts& f = one.facts;
  const std::string shape =
      fmt::format("{:.0f} % deep, {:.1f} weeks, rose {:.0f} % before; last close {} on {}; {}", f.depth, f.length / 5.0,
                  f.prior_rise, to_string(f.last_close), to_string(f.as_of), one.judgement.explained);
  canvas.text({kWhole.left, 24}, name_of(one), c.ink, kTitle);
  std::vector<std::string> lines = broken(outlook_words(one), kWords, kBaseWidth - 2 * kWhole.left);
  std::vector<std::string> of_shape = broken(shape, kWords, kBaseWidth - 2 * kWhole.left);
  of_shape.resize(std::min(of_shape.size(), kLinesMost - lines.size()));
  lines.insert(lines.begin(), of_shape.begin(), of_shape.end());
  for (std::size_t i = 0; i < lines.size(); ++i)
    canvas.text({kWhole.left, 44 + kLine * static_cast<double>(i)}, lines[i], c.ink, kWords);
}

/// From shortly before the base on; a stretch that is too short to be drawn is all there is.
BaseDays days_beside(const Candidate& one, double range) {
  const int length = static_cast<int>(one.bars.size()), start = one.base.start - one.first;
  const int before = std::clamp(start - std::max(5, (length - start) / 8), 0, std::max(0, length - 2));
  return {&one, {one.bars.begin() + before, one.bars.end()}, before, range};
}

}  // namespace

void draw_base(Canvas& canvas, const Candidate& one, double range, PictureStyle style) {
  const Palette c = palette(style);
  canvas.fill_all(c.ground);
  draw_days(canvas, c, kWhole, {&one, one.bars, 0, range});
  draw_strength(canvas, c, kWhole, one, kStrength);
  draw_weeks(canvas, c, kWhole, one, kWeeks);
  caption(canvas, c, one);
  canvas.text({kBesideFrame.left, kBeside.top + 20}, name_of(one), c.ink,
              std::min(16.0, 16.0 * (kBeside.right - 16) / Canvas::text_width(name_of(one), 16)));
  draw_days(canvas, c, kBesideFrame, days_beside(one, range));
}

std::string base_picture(const Candidate& one, double range) {
  if (one.bars.size() < 2) return {};
  return svg_of(kBaseWidth, kBaseHeight, [&](Canvas& canvas) { draw_base(canvas, one, range, PictureStyle::light); },
                {name_of(one), true, kBeside});
}

}  // namespace brimwatch
