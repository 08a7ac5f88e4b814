#pragma once
// From single crossings to the sums of a review. Pure.
#include "evening/review.h"

namespace brimwatch {

/// Fills weights, all, after, in_interval, reliability, at_crossings and followed from the crossings.
void sum_up(Review& review);

}  // namespace brimwatch
