// The widths that pictures are laid out with against those that cairo finds in the font itself.
#include "pictures/letter_widths.h"

#include <gtest/gtest.h>

#include "adapters/libraries/cairo.h"

namespace brimwatch {
namespace {

double cairos_width(const std::string& words, bool bold) {
  constexpr double kSize = 1000;  // so that a rounding to pixels is a thousandth
  cairo_surface_t* const surface = cairo().image_surface_create(CAIRO_FORMAT_RGB24, 1, 1);
  cairo_t* const on = cairo().create(surface);
  cairo().select_font_face(on, "DejaVu Sans", CAIRO_FONT_SLANT_NORMAL,
                           bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
  cairo().set_font_size(on, kSize);
  cairo_text_extents_t extents{};
  cairo().text_extents(on, words.c_str(), &extents);
  cairo().destroy(on);
  cairo().surface_destroy(surface);
  return extents.x_advance / kSize;
}

TEST(LetterWidths, are_those_of_the_font) {
  for (const bool bold : {false, true}) {
    for (char c = ' '; c <= '~'; ++c)
      EXPECT_NEAR(width_of(std::string(1, c), 1, bold), cairos_width(std::string(1, c), bold), 0.0015) << c << bold;
  }
  EXPECT_NEAR(width_of("pivot 48.35", 14, false), 14 * cairos_width("pivot 48.35", false), 0.2);
}

TEST(LetterWidths, are_no_less_than_those_of_letters_beyond_the_table) {
  for (const char* word : {"Börse", "Ærøskøbing", "Łódź"}) EXPECT_GE(width_of(word, 1, true), cairos_width(word, true));
}

}  // namespace
}  // namespace brimwatch
