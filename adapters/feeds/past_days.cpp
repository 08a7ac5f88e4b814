#include "adapters/feeds/past_days.h"

#include <cstdlib>
#include <utility>

#include "core/wording.h"

namespace brimwatch {
namespace {

constexpr Nanos kLikeAClock = 60 * kSecond;  ///< for so long its times and ours must go on alike
constexpr Nanos kTolerance = 5 * kSecond;

}  // namespace

bool PastDays::leaves_out(const Tick& tick, Instant now) {
  if (!past_day_of_) return false;
  const bool is_hole = tick.kind == TickKind::hole;
  const auto day = past_day_of_(tick.symbol, is_hole ? tick.received : tick.time, now.wall);
  if (day) ++count_;
  if (is_hole) return day.has_value();
  day ? note_past(tick, *day, now) : note_present();
  return day.has_value();
}

void PastDays::note_present() {
  day_.reset();
  told_ = doubt_told_ = false;
}

void PastDays::note_past(const Tick& tick, Date day, Instant now) {
  const Nanos ours = now.steady - first_.steady, theirs = tick.time - first_.wall;
  if (day_ != day || std::abs(theirs - ours) > kTolerance) first_ = {tick.time, now.steady};
  day_ = day;
  newest_ = tick.time;
  now_ = now.wall;
  steady_ = now.steady;
}

std::string PastDays::take_news() {
  if (!day_ || std::exchange(told_, true)) return {};
  return "what comes is of " + to_string(*day_) + ", a day that is over, and is left out until the present comes";
}

std::string PastDays::take_doubt() {
  if (!day_ || doubt_told_) return {};
  if (steady_ - first_.steady < kLikeAClock) return {};
  doubt_told_ = true;
  return "its times go on like a clock, " + span_text(now_ - newest_) +
         " behind this computer's, and what comes is left out as of a day that is over. If this computer's clock is "
         "wrong, set it: nothing is told meanwhile. If the source plays a recorded day, set past_days = \"tell\"";
}

}  // namespace brimwatch
