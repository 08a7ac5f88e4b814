// A base's picture by the boxes of its words and lines: nothing lies over anything that has to be read.
#include "weekend/picture.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <fstream>

#include "pictures/surface.h"
#include "planted.h"
#include "weekend/weekly.h"

namespace brimwatch {
namespace {

using testing_support::plant;
using testing_support::Planted;

constexpr double kBesideTop = kBaseHeight + 80;

/// Each bar `times` times over, on days of their own: a base of a year out of one of a season.
std::vector<DailyBar> stretched(const std::vector<DailyBar>& bars, int times) {
  std::vector<DailyBar> out;
  for (const DailyBar& bar : bars) {
    for (int i = 0; i < times; ++i) {
      out.push_back(bar);
      out.back().day = testing_support::session_day(static_cast<int>(out.size()));
    }
  }
  return out;
}

DailyBar scaled(DailyBar bar, double by) {
  for (Price* const price : {&bar.open, &bar.high, &bar.low, &bar.close})
    *price = Price{std::max<std::int64_t>(1, std::llround(static_cast<double>(price->micros) * by))};
  return bar;
}

template <typename Better>
int best(const std::vector<DailyBar>& bars, int from, int to, Better better) {
  int at = from;
  for (int i = from; i <= to; ++i) {
    if (better(bars[static_cast<std::size_t>(i)], bars[static_cast<std::size_t>(at)])) at = i;
  }
  return at;
}

struct Case {
  BaseKind kind = BaseKind::flat_base;
  int stretch = 1;
  double price = 1;  ///< of the planted 50
  std::string symbol = "KLVN";
};

Candidate candidate_of(const Case& wanted) {
  const Planted truth = plant(wanted.kind, 0.012, 3);
  std::vector<DailyBar> bars = stretched(truth.bars, wanted.stretch);
  for (DailyBar& bar : bars) bar = scaled(bar, wanted.price);
  const auto lower = [](const DailyBar& a, const DailyBar& b) { return a.low < b.low; };
  const auto higher = [](const DailyBar& a, const DailyBar& b) { return a.high > b.high; };
  Candidate one;
  one.symbol = wanted.symbol;
  Base& base = one.base;
  base.kind = wanted.kind;
  base.last = static_cast<int>(bars.size()) - 1;
  base.start = truth.start * wanted.stretch;
  const bool turns = wanted.kind == BaseKind::cup_with_handle || wanted.kind == BaseKind::double_bottom;
  base.low = best(bars, base.start + 1, turns ? (base.start + base.last) / 2 : base.last, lower);
  base.peak = turns ? best(bars, base.low + 1, base.last - 4, higher) : base.start;
  base.second = turns ? best(bars, base.peak + 1, base.last, lower) : base.low;
  one.facts = measure(bars, base, {}, {});
  one.judgement.explained = "15 of 16 rules kept; broken: dry-up";
  one.first = std::max(0, base.start - 60);
  one.bars.assign(bars.begin() + one.first, bars.end());
  one.weeks = weekly_bars(bars);
  for (std::size_t i = 0; i < one.bars.size(); ++i) one.line.push_back(1 + 0.001 * static_cast<double>(i % 40));
  return one;
}

std::vector<Case> cases() {
  std::vector<Case> out;
  for (const BaseKind kind : {BaseKind::cup_with_handle, BaseKind::cup, BaseKind::double_bottom, BaseKind::flat_base}) {
    for (const int stretch : {1, 3, 6}) out.push_back({kind, stretch});
    out.push_back({kind, 2, 2500.0, "QUELLINGTONS"});  // six digits
    out.push_back({kind, 2, 0.000246, "HALQ"});        // 0.0123
  }
  return out;
}

std::string name_of(const Case& one) {
  return std::string(to_string(one.kind)) + " x" + std::to_string(one.stretch) + " at " + std::to_string(one.price);
}

/// BRIMWATCH_PICTURES=DIR keeps the pictures, to be looked at.
void keep(const std::string& name, const Candidate& one) {
  const char* directory = std::getenv("BRIMWATCH_PICTURES");
  if (directory == nullptr) return;
  std::ofstream(std::string(directory) + "/" + name + ".svg") << base_picture(one, 5);
  for (const PictureStyle style : {PictureStyle::light, PictureStyle::dark}) {
    const auto png =
        png_of(kBaseWidth, kBaseHeight + 80 + 410, [&](Canvas& canvas) { draw_base(canvas, one, 5, style); });
    std::ofstream(std::string(directory) + "/" + name + (style == PictureStyle::dark ? "-dark.png" : ".png"),
                  std::ios::binary)
        .write(reinterpret_cast<const char*>(png.data()), static_cast<std::streamsize>(png.size()));
  }
}

struct Drawn {
  std::vector<WordsStroke> words;
  std::vector<Box> bars;  ///< of prices, and the pivot's line

  explicit Drawn(const Candidate& one) {
    Canvas canvas;
    draw_base(canvas, one, 5, PictureStyle::light);
    const Palette c = palette(PictureStyle::light);
    for (const Stroke& stroke : canvas.strokes()) {
      if (const auto* words_stroke = std::get_if<WordsStroke>(&stroke)) words.push_back(*words_stroke);
      const auto* line = std::get_if<LineStroke>(&stroke);
      if (line == nullptr || line->spots.size() != 2 || line->dash != Dash::solid) continue;
      if (line->colour == c.grid || line->colour == c.quiet || line->colour == c.usual) continue;  // under the words' rim
      const auto& [a, b] = std::pair(line->spots[0], line->spots[1]);
      bars.push_back(
          {std::min(a.x, b.x) - 0.5, std::min(a.y, b.y) - 0.5, std::max(a.x, b.x) + 0.5, std::max(a.y, b.y) + 0.5});
    }
  }
};

TEST(BasePicture, NoWordsLieOverOthersOrOverABarOrBeyondThePaper) {
  for (const Case& wanted : cases()) {
    SCOPED_TRACE(name_of(wanted));
    const Candidate one = candidate_of(wanted);
    keep(name_of(wanted), one);
    const Drawn drawn(one);
    ASSERT_GT(drawn.words.size(), 20U);
    for (std::size_t i = 0; i < drawn.words.size(); ++i) {
      const Box box = box_of(drawn.words[i]);
      const bool beside = box.top >= kBesideTop;
      const Box paper = beside ? Box{0, kBesideTop, 480, kBesideTop + 410} : Box{0, 0, kBaseWidth, kBaseHeight};
      EXPECT_TRUE(paper.holds(box)) << drawn.words[i].words;
      for (std::size_t k = 0; k < i; ++k)
        EXPECT_FALSE(box.meets(box_of(drawn.words[k]))) << drawn.words[i].words << " over " << drawn.words[k].words;
      for (const Box& bar : drawn.bars) {
        if (!box.meets(bar)) continue;
        ADD_FAILURE() << drawn.words[i].words << " over a line at " << bar.left << "," << bar.top;
        break;
      }
    }
  }
}

// At 390 pixels the page gives it 370 of them, at 1440 some 500: no letter of it is smaller there than 8 of a pixel's
// 1/96 inch.
TEST(BasePicture, TheBaseBesideTheDayHasLettersThatCanBeReadOnAPhone) {
  for (const Case& wanted : cases()) {
    SCOPED_TRACE(name_of(wanted));
    std::size_t seen = 0;
    for (const WordsStroke& one : Drawn(candidate_of(wanted)).words) {
      if (box_of(one).top < kBesideTop) continue;
      ++seen;
      EXPECT_GE(one.size * 370 / 480, 8) << one.words;
    }
    EXPECT_GT(seen, 8U);
  }
}

TEST(BasePicture, EveryPointOfTheBaseIsNamedTwiceOnceInEachDrawing) {
  const Candidate one = candidate_of({BaseKind::cup_with_handle, 3});
  const Drawn drawn(one);
  for (const Point& point : one.facts.points) {
    EXPECT_EQ(std::count_if(drawn.words.begin(), drawn.words.end(),
                            [&](const WordsStroke& words) { return words.words == point.name; }),
              2)
        << point.name;
  }
}

TEST(BasePicture, IsWellFormedAndTurnsDarkByItself) {
  Candidate one = candidate_of({BaseKind::flat_base, 1});
  one.symbol = "A&B<";
  const std::string svg = base_picture(one, 5);
  EXPECT_NE(svg.find("<title>A&amp;B&lt;: flat base"), std::string::npos);
  EXPECT_NE(svg.find("prefers-color-scheme: dark"), std::string::npos);
  EXPECT_NE(svg.find(css(palette(PictureStyle::dark).pivot)), std::string::npos);
  EXPECT_NE(svg.find("<view id=\"beside\" viewBox=\"0 900 480 410\"/>"), std::string::npos) << svg.substr(0, 1500);
  EXPECT_EQ(svg.find("nan"), std::string::npos);
  EXPECT_LT(svg.size(), 200'000U);
}

}  // namespace
}  // namespace brimwatch
