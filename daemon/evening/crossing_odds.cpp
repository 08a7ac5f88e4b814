#include "evening/crossing_odds.h"

#include <algorithm>
#include <array>
#include <limits>
#include <set>
#include <span>
#include <utility>

#include "core/text/text.h"
#include "core/wording.h"
#include "evening/text/say.h"
#include "volume/learning/learning.h"

namespace brimwatch {
namespace {

constexpr double kForEver = std::numeric_limits<double>::infinity();

bool is_judged(const Crossing& one) { return one.came && one.said.notice.volume.weight != Weight::unknown; }

/// What the band of the notices of `wanted` says; `property` is a member of VolumeView.
OddsBand band_of(const std::vector<Crossing>& crossings, double from, double to, double VolumeView::*property) {
  OddsBand band{from, to, 0, 0, {}};
  std::vector<Decided> came;
  for (const Crossing& one : crossings) {
    const VolumeView& said = one.said.notice.volume;
    if (!is_judged(one) || said.minutes < 0 || said.*property <= from || said.*property > to) continue;
    came.push_back({one.said.notice.day, *one.came});
    band.said += said.odds;
  }
  band.count = static_cast<int>(came.size());
  if (band.count > 0) band.said /= band.count;
  band.came = share_of(came, kVolumeAlike);
  return band;
}

/// `edges` ascending; the last band goes on for ever.
std::vector<OddsBand> bands_of(const std::vector<Crossing>& crossings, std::span<const double> edges,
                               double VolumeView::*property) {
  std::vector<OddsBand> bands;
  for (std::size_t i = 0; i < edges.size(); ++i) {
    const double to = i + 1 < edges.size() ? edges[i + 1] : kForEver;
    OddsBand band = band_of(crossings, edges[i], to, property);
    if (band.count > 0) bands.push_back(std::move(band));
  }
  return bands;
}

std::string whole_number(double value) { return std::to_string(static_cast<int>(value)); }

std::string lift_text(double lift) { return percent_text(lift * 100, 1) + " of a day"; }

std::string row(const std::string& what, const OddsBand& band) {
  return wrap("  " + what + ": said " + odds_text(band.said, Weight::unknown) + ", came in " + share_text(band.came),
              kReviewWidth, 4) +
         "\n";
}

bool is_whole(const ReviewInput& input, const Crossing& one) {
  if (one.official) return true;
  const auto day = input.days.find({one.said.symbol, one.said.notice.day});
  return day != input.days.end() && day->second.coverage >= kLeastCoverage;
}

}  // namespace

OddsAtCrossings odds_at_crossings(const std::vector<Crossing>& crossings) {
  static constexpr std::array kMinutes = {-1.0, 1.0, 5.0, 15.0, 30.0, 60.0, 120.0, 195.0};
  static constexpr std::array kGaps = {-kForEver, -.5, 1.0, 2.0};  // deviations; -1: not known
  OddsAtCrossings out;
  out.by_minute = bands_of(crossings, kMinutes, &VolumeView::minutes);
  out.by_gap = bands_of(crossings, kGaps, &VolumeView::gap);
  for (const Crossing& one : crossings) {
    const VolumeView& said = one.said.notice.volume;
    if (!is_judged(one)) continue;
    out.unknown += said.minutes < 0;
    if (said.own_lift == 0) continue;
    out.own_least = out.with_own > 0 ? std::min(out.own_least, said.own_lift) : said.own_lift;
    out.own_most = out.with_own > 0 ? std::max(out.own_most, said.own_lift) : said.own_lift;
    ++out.with_own;
  }
  return out;
}

std::string minute_text(const OddsBand& band) {
  if (band.from < 0) return "in the first minute";
  if (band.to == kForEver) return "after " + whole_number(band.from) + " minutes";
  return whole_number(band.from) + " to " + whole_number(band.to) + " minutes after the open";
}

std::string gap_text(const OddsBand& band) {
  if (band.to <= 0) return "gap not known";
  if (band.from < 0) return "gap of up to " + whole_number(band.to) + " daily deviation";
  if (band.to == kForEver) return "gap above " + whole_number(band.from) + " deviations";
  return "gap of " + whole_number(band.from) + " to " + whole_number(band.to) + " deviations";
}

std::string own_text(const OddsAtCrossings& odds) {
  if (odds.with_own == 0) return {};
  std::string lift = lift_text(odds.own_least);
  if (odds.own_most > odds.own_least) lift += " to " + lift_text(odds.own_most);
  return count_text(odds.with_own, "crossing") + " judged with what your own had taught of the volume to come: " + lift;
}

std::string crossing_odds_in_words(const Review& review) {
  const OddsAtCrossings& odds = review.at_crossings;
  if (odds.by_minute.empty()) return {};
  std::string out = "By the time of the crossing, and by the opening gap:\n";
  for (const OddsBand& band : odds.by_minute) out += row(minute_text(band), band);
  for (const OddsBand& band : odds.by_gap) out += row(gap_text(band), band);
  if (odds.unknown > 0)
    out += "  " + count_text(odds.unknown, "crossing") + " of an older journal, which does not say either\n";
  if (const std::string own = own_text(odds); !own.empty()) out += wrap("  " + own, kReviewWidth, 4) + "\n";
  return out;
}

std::vector<PastCrossing> past_crossings(const ReviewInput& input, const Review& review) {
  std::vector<PastCrossing> out;
  std::set<std::pair<std::string, Date>> seen;
  for (const Crossing& one : review.crossings) {
    const Notice& notice = one.said.notice;
    const VolumeView& said = notice.volume;
    if (!is_judged(one) || said.minutes < 0 || notice.in_hole || !one.volume || !is_whole(input, one)) continue;
    if (!seen.insert({one.said.symbol, notice.day}).second) continue;
    out.push_back({notice.day, said.minutes, said.so_far.as_double(), said.projected, said.low, said.high, *one.volume,
                   said.lift, said.own_lift});
  }
  return out;
}

Result<OwnLift> lift_before(Date since, Journal& journal, ReviewSources sources) {
  constexpr int kYear = 365;
  ReviewOptions span;
  span.from = since - kYear, span.to = since - 1;
  sources.watches.clear();  // only what was told has odds
  sources.base_rates = false;
  const auto found = gather(journal, sources, span);
  if (!found) return tl::unexpected(found.error());
  OwnLift out = learn_lift(past_crossings(found->input, review(found->input)));
  out.since = since;
  return out;
}

}  // namespace brimwatch
