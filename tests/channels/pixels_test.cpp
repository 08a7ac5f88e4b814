#include "adapters/channels/desktop/pixels.h"

#include <gtest/gtest.h>

#include "tests/support/small_png.h"

namespace brimwatch {
namespace {

TEST(Pixels, AreReadInRowsWithPlainAlpha) {
  const auto pixels = pixels_of(testing_support::small_png());
  ASSERT_TRUE(pixels);
  EXPECT_EQ(pixels->width, 2);
  EXPECT_EQ(pixels->height, 1);
  ASSERT_EQ(pixels->rgba.size(), 8U);
  EXPECT_EQ(std::vector<std::uint8_t>(pixels->rgba.begin(), pixels->rgba.begin() + 4),
            (std::vector<std::uint8_t>{255, 0, 0, 255}));
  EXPECT_NEAR(pixels->rgba[5], 0x80, 1);  // premultiplied and back: a step may be lost
  EXPECT_EQ(pixels->rgba[7], 0x80);
}

TEST(Pixels, WhatIsNoPictureIsRefused) {
  auto png = testing_support::small_png();
  for (std::size_t size = 0; size + 12 < png.size(); ++size) {
    EXPECT_FALSE(pixels_of({png.begin(), png.begin() + static_cast<std::ptrdiff_t>(size)})) << size;
  }
  EXPECT_FALSE(pixels_of(std::vector<std::uint8_t>(100, 0xFF)));
}

}  // namespace
}  // namespace brimwatch
