#pragma once
// A split between a notice and today: the bars are brought to the terms of the last one, and so is what the notice said,
// so that both can be compared. Pure.
#include "evening/review.h"
#include "weekend/events.h"

namespace brimwatch {

/// For every symbol that has bars and splits: the bars (where the prices show the jump; adjusted data stays as it is),
/// the prices and volumes of its notices, and its day records, all in the terms of the last bar. ReviewInput::adjusted
/// says for which notices and why. Dividends move nothing here: the daemon's pivot does not move with them either.
void adjust_to_last_bar(ReviewInput& input, const PriceEvents& events);

/// The bars of one stock in the terms of the last one; `events` are its own.
void adjust_bars(std::vector<DailyBar>& bars, const std::vector<PriceEvent>& events);

}  // namespace brimwatch
