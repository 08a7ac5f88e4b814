#include "crossings/plain_high.h"

namespace brimwatch {

std::optional<PlainHigh> plain_high(std::span<const DailyBar> bars, int last, Price offset) {
  const auto at = [&](int i) -> const DailyBar& { return bars[static_cast<std::size_t>(i)]; };
  if (last + 1 < kPlainSessions) return std::nullopt;
  int peak = last - kPlainSessions + 1;
  for (int i = peak + 1; i <= last; ++i) peak = at(i).high > at(peak).high ? i : peak;
  const Price pivot{at(peak).high.micros + offset.micros};
  if (last - peak < kPlainSettled || pivot <= at(last).close) return std::nullopt;
  return PlainHigh{peak, pivot};
}

}  // namespace brimwatch
