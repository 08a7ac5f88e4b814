#pragma once
// The pictures of a review, drawn by the same kit for the evening's mail and for the page of `brimwatch review --html`.
#include <string>
#include <vector>

#include "evening/review.h"
#include "pictures/days_picture.h"
#include "pictures/odds_picture.h"

namespace brimwatch {

/// The days around a crossing.
[[nodiscard]] DaysPicture days_around(const Crossing& one, const std::vector<DailyBar>& bars);
[[nodiscard]] std::vector<OddsPoint> odds_points(const Reliability& reliability);

/// What they show, for who cannot see it.
[[nodiscard]] std::string words_for_odds(const Reliability& reliability);
[[nodiscard]] std::string words_for(const Crossing& one);

/// Pictures that stand in the page itself, light or dark as the reader's screen is.
[[nodiscard]] PagePictures pictures_in_page();

}  // namespace brimwatch
