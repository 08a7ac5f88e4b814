// Words of marks, by their boxes: never over one another, inside the frame, off the lines where there is room.
#include "pictures/labels.h"

#include <gtest/gtest.h>

#include <random>

#include "pictures/picture_draw.h"
#include "pictures/surface.h"
#include "tests/pictures/sample_picture.h"

namespace brimwatch {
namespace {

using testing_support::sample_picture;

constexpr Box kFrame{20, 78, 548, 330};

void expect_apart(const std::vector<MarkLabel>& labels) {
  for (std::size_t i = 0; i < labels.size(); ++i) {
    EXPECT_TRUE(kFrame.holds(labels[i].box)) << i;
    for (std::size_t k = 0; k < i; ++k) EXPECT_FALSE(labels[i].box.meets(labels[k].box)) << k << " and " << i;
  }
}

TEST(PlaceLabels, puts_a_lone_label_right_beside_its_mark) {
  std::vector<MarkLabel> one = {{{200, 200}, 80, 19}};
  place_labels(one, kFrame, {});
  EXPECT_NEAR(one[0].box.left, 209, 1);
  EXPECT_NEAR(one[0].box.top, 190.5, 1);
}

TEST(PlaceLabels, keeps_labels_of_marks_that_lie_together_apart) {
  std::mt19937_64 random(5);
  for (int trial = 0; trial < 300; ++trial) {
    const double x = 20 + static_cast<double>(random() % 528), y = 78 + static_cast<double>(random() % 252);
    std::vector<MarkLabel> labels;
    for (int i = 0; i < 3; ++i)
      labels.push_back({{std::min(548.0, x + static_cast<double>(random() % 12)),
                         std::min(330.0, y + static_cast<double>(random() % 6))},
                        60 + static_cast<double>(random() % 100),
                        19});
    place_labels(labels, kFrame, {{20, y - 2, 548, y + 2}});
    expect_apart(labels);
  }
}

TEST(PlaceLabels, keeps_off_a_line_where_there_is_room) {
  std::vector<MarkLabel> one = {{{200, 200}, 80, 19}};
  const Box pivot{20, 198, 548, 202};
  place_labels(one, kFrame, {pivot});
  EXPECT_FALSE(one[0].box.meets(pivot));
}

/// The labels of a day whose last three marks are `gap` minutes apart at its end.
std::vector<MarkLabel> labels_of(DayPicture day) {
  std::vector<MarkLabel> out;
  (void)svg_of(kPictureWidth, kPictureHeight, [&](Canvas& canvas) { out = mark_labels(canvas, day); });
  return out;
}

TEST(PictureMarks, a_few_minutes_apart_do_not_lie_over_each_other) {
  for (const double first : {2.0, 60.0, 126.0}) {
    for (const double gap : {0.0, 1.0, 3.0, 8.0}) {
      DayPicture day = sample_picture();
      day.marks = {{first, 48.41, "crossed 10:42"},
                   {first + gap, 48.5, "volume arrived 10:45"},
                   {first + 2 * gap, 48.3, "fell under 10:48"}};
      const auto labels = labels_of(day);
      ASSERT_EQ(labels.size(), 3U);
      expect_apart(labels);
    }
  }
}

TEST(PictureMarks, keep_off_the_pivot_and_the_prices_line) {
  const DayPicture day = sample_picture();
  for (const MarkLabel& label : labels_of(day)) {
    EXPECT_LT(std::hypot(label.box.left - label.mark.x, label.box.top - label.mark.y), 250) << "not far from its mark";
  }
}

}  // namespace
}  // namespace brimwatch
