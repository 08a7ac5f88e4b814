// One colour means one thing wherever it is seen, and one number has one face.
#include "pictures/palette.h"

#include <gmock/gmock.h>

#include <fstream>
#include <sstream>

namespace brimwatch {
namespace {

std::string text_of(const std::string& path) {
  std::ifstream file(std::string(BRIMWATCH_SOURCE_DIR) + "/" + path);
  std::stringstream out;
  out << file.rdbuf();
  return out.str();
}

TEST(Palette, is_that_of_the_page) {
  const std::string page = text_of("config/page/page.css");
  for (const PictureStyle style : {PictureStyle::light, PictureStyle::dark}) {
    const Palette c = palette(style);
    EXPECT_THAT(page, ::testing::HasSubstr("--blue: " + css(c.pivot))) << "the pivot and the range";
    EXPECT_THAT(page, ::testing::HasSubstr("--warm: " + css(c.loss))) << "the loss limit";
    EXPECT_THAT(page, ::testing::HasSubstr("--green: " + css(c.volume))) << "volume";
  }
}

TEST(Palette, is_that_of_the_evenings_page_in_the_dark) {
  const std::string page = text_of("daemon/evening/text/page.cpp");
  const Palette c = palette(PictureStyle::dark);
  for (const Colour& one : {c.ground, c.ink, c.quiet, c.grid, c.volume, c.loss})
    EXPECT_THAT(page, ::testing::HasSubstr(css(one) == "#121212" ? "--ground:#121212" : css(one)));
}

TEST(PriceText, keeps_the_digits_of_a_sub_cent_price_and_drops_the_noise_of_a_float) {
  EXPECT_EQ(price_text(48.35), "48.35");
  EXPECT_EQ(price_text(44.482), "44.482");
  EXPECT_EQ(price_text(0.4825), "0.4825");
  EXPECT_EQ(price_text(12.3451), "12.3451");
  EXPECT_EQ(price_text(static_cast<double>(48.41F)), "48.41");
  EXPECT_EQ(price_text(1e300), "?");
}

}  // namespace
}  // namespace brimwatch
