#include "pictures/picture.h"

#include <gtest/gtest.h>

#include <cstdlib>
#include <fstream>
#include <functional>
#include <limits>

#include "pictures/scale.h"
#include "pictures/small_picture.h"
#include "tests/pictures/sample_picture.h"
#include "tests/support/hostile_text.h"
#include "tests/support/sample_notice.h"

namespace brimwatch {
namespace {

using testing_support::sample_picture;

/// BRIMWATCH_PICTURES=DIR keeps the pictures, to be looked at.
void keep(const std::string& name, const std::vector<std::uint8_t>& png) {
  const char* directory = std::getenv("BRIMWATCH_PICTURES");
  if (directory == nullptr) return;
  std::ofstream(std::string(directory) + "/" + name + ".png", std::ios::binary)
      .write(reinterpret_cast<const char*>(png.data()), static_cast<std::streamsize>(png.size()));
}

// The PNG specification: signature, then IHDR with width and height, big-endian.
TEST(Picture, IsAPngOfItsSizeAndNotTooHeavyForAMail) {
  const auto png = picture_png(sample_picture());
  keep("day", png);
  ASSERT_GT(png.size(), 24U);
  EXPECT_EQ(std::string(png.begin() + 1, png.begin() + 4), "PNG");
  const auto big = [&](int at) { return png[at] << 24 | png[at + 1] << 16 | png[at + 2] << 8 | png[at + 3]; };
  EXPECT_EQ(big(16), kPictureWidth);
  EXPECT_EQ(big(20), kPictureHeight);
  EXPECT_LT(png.size(), 100'000U);
}

TEST(Picture, TheSameDayGivesTheSameBytesAndAnotherOneOthers) {
  EXPECT_EQ(picture_png(sample_picture()), picture_png(sample_picture()));
  EXPECT_NE(picture_png(sample_picture()), picture_png(sample_picture(133)));
  EXPECT_NE(picture_png(sample_picture()), picture_png(sample_picture(), PictureStyle::dark));
}

TEST(Picture, EveryLevelShowsInThePicture) {
  const auto whole = picture_png(sample_picture());
  const auto differs = [&](auto change) {
    DayPicture day = sample_picture();
    change(day);
    return picture_png(day) != whole;
  };
  EXPECT_TRUE(differs([](DayPicture& day) { day.pivot += 0.2; }));
  EXPECT_TRUE(differs([](DayPicture& day) { day.range_top += 0.2; }));
  EXPECT_TRUE(differs([](DayPicture& day) { day.loss_limit += 0.2; }));
  EXPECT_TRUE(differs([](DayPicture& day) { day.normal *= 1.1; }));
  EXPECT_TRUE(differs([](DayPicture& day) { day.low *= 0.9; }));
  EXPECT_TRUE(differs([](DayPicture& day) { day.usual[5].value += 0.05; }));
  EXPECT_TRUE(differs([](DayPicture& day) { day.holes = {{40, 60}}; }));
  EXPECT_TRUE(differs([](DayPicture& day) { day.marks.pop_back(); }));
  EXPECT_TRUE(differs([](DayPicture& day) { day.judgement = "not judged"; }));
}

TEST(Picture, SvgHasTheSameSize) {
  const std::string svg = picture_svg(sample_picture());
  EXPECT_NE(svg.find("<svg"), std::string::npos);
  EXPECT_NE(svg.find("viewBox=\"0 0 720 600\""), std::string::npos) << svg.substr(0, 300);
  EXPECT_EQ(svg.find("<script"), std::string::npos);
}

TEST(Picture, DrawsDaysOfEveryKind) {
  keep("dark", picture_png(sample_picture(), PictureStyle::dark));
  DayPicture ended = sample_picture(390);
  ended.judgement = "+85 % on normal";
  ended.holes = {{200, 245}};
  keep("ended", picture_png(ended));
  DayPicture fell = sample_picture(200);
  for (auto& point : fell.price) point.value = 50 - 0.028 * point.minute;
  fell.marks = {{60, 48.3, "fell under 10:30"}, {196, 44.5, "loss limit 12:46"}};
  keep("fell", picture_png(fell));
  DayPicture unknown = sample_picture();
  unknown.normal = unknown.projected = unknown.low = unknown.high = 0;
  unknown.judgement = "normal volume not known";
  unknown.usual.clear();
  keep("unknown", picture_png(unknown));
  DayPicture half = sample_picture(60);
  half.session_minutes = 210;
  keep("half-day", picture_png(half));
  keep("empty", picture_png(DayPicture{}));
  EXPECT_GT(picture_png(DayPicture{}).size(), 100U);
}

TEST(Picture, OddNumbersAndHostileTextDoNoHarm) {
  for (const double odd :
       {0.0, -1.0, 1e300, std::numeric_limits<double>::infinity(), std::numeric_limits<double>::quiet_NaN()}) {
    DayPicture day = sample_picture();
    day.price.push_back({odd, odd});
    day.volume.push_back({odd, odd});
    day.pivot = day.normal = day.projected = day.now_minute = odd;
    day.holes = {{odd, odd}};
    day.marks = {{odd, odd, "x"}};
    EXPECT_GT(picture_png(day).size(), 100U) << odd;
  }
  for (const std::string& hostile : testing_support::hostile_texts()) {
    DayPicture day = sample_picture();
    day.symbol = day.judgement = day.marks[0].label = hostile;
    EXPECT_GT(picture_png(day).size(), 100U) << hostile;
  }
}

TEST(Picture, TakesFromANoticeWhatItKnows) {
  const DayPicture day = picture_of(testing_support::sample_record());
  EXPECT_EQ(day.symbol, "KLVN");
  EXPECT_EQ(day.range_top, 50.76);
  EXPECT_EQ(day.projected, 2'296'000);
  EXPECT_EQ(day.judgement, "odds of +40 %: 0.94, heavy");
  EXPECT_EQ(picture_of(testing_support::sample_record(NoticeKind::crossed, Weight::unknown)).projected, 0);
}

TEST(RoundSteps, AreRound) {
  EXPECT_EQ(round_steps(0, 10, 5), (std::vector<double>{0, 2, 4, 6, 8, 10}));
  EXPECT_TRUE(round_steps(1, 1, 5).empty());
}

TEST(Spread, LabelsKeepTheirOrderAndDistance) {
  Label a{10, 0}, b{12, 0}, c{99, 0};
  spread({&c, &a, &b}, 20, 0, 100);
  EXPECT_EQ(a.at, 10);
  EXPECT_EQ(b.at, 30);
  EXPECT_EQ(c.at, 99);
  Label d{95, 0}, e{99, 0};
  spread({&d, &e}, 20, 0, 100);
  EXPECT_EQ(d.at, 80);
  EXPECT_EQ(e.at, 100);
}

// PNG specification 1.2, section 4.1.1: width and height stand in the header, most significant byte first.
TEST(SmallPicture, is_of_an_icons_size_and_shows_price_weight_and_volume) {
  const auto png = small_picture_png(sample_picture());
  ASSERT_GT(png.size(), 24U);
  EXPECT_EQ((png[18] << 8 | png[19]), kSmallSide);
  EXPECT_EQ((png[22] << 8 | png[23]), kSmallSide);
  const auto differs = [&](const std::function<void(DayPicture&)>& change) {
    DayPicture day = sample_picture();
    change(day);
    return small_picture_png(day) != png;
  };
  EXPECT_TRUE(differs([](DayPicture& day) { day.price.back().value += 0.4; }));
  EXPECT_TRUE(differs([](DayPicture& day) { day.volume.back().value *= 0.7; }));
  for (const Weight weight : {Weight::heavy, Weight::unsettled, Weight::light})
    EXPECT_TRUE(differs([weight](DayPicture& day) { day.weight = weight; })) << to_string(weight);
  EXPECT_GT(small_picture_png(DayPicture{}).size(), 100U) << "a day that nothing is known of";
}

}  // namespace
}  // namespace brimwatch
