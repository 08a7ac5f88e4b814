#include "crossings/grading.h"

#include <algorithm>
#include <map>

namespace brimwatch {
namespace {

using Watches = std::span<const WeekendWatch>;

int year_of(Date day) { return static_cast<int>(day.ymd().year()); }

template <typename Came>
ClusteredShare share_of(Watches watches, Came came) {
  std::vector<Counted> counted;
  for (const WeekendWatch& watch : watches) {
    if (watch.followed.bought) counted.push_back({watch.crossed, came(watch.followed)});
  }
  return share_by_month(counted);
}

/// One crossing and what the two curves said of it.
struct Spoken {
  double move = 0, said = 0, own = 0;
  bool came = false;
  Date day;
};

/// Examples whose result was known before `year` began.
std::vector<OddsExample> known_before(Watches watches, CameFirst which, int year) {
  std::vector<OddsExample> out;
  for (const WeekendWatch& watch : watches) {
    if (watch.followed.bought && year_of(watch.known) < year)
      out.push_back({watch.ordinary_move, watch.followed.first == which});
  }
  return out;
}

/// By year, the curve of the years before it; no entry where they had too few crossings.
std::map<int, OddsCurve> curves_by_year(Watches watches, CameFirst which, const OddsCurve& prior) {
  std::map<int, OddsCurve> out;
  for (const WeekendWatch& watch : watches) {
    if (watch.followed.bought) out.try_emplace(year_of(watch.crossed), prior);
  }
  for (auto year = out.begin(); year != out.end();) {
    const auto examples = known_before(watches, which, year->first);
    if (static_cast<int>(examples.size()) < kFitLeast) {
      year = out.erase(year);
      continue;
    }
    year->second = fit_curve(examples, prior);
    ++year;
  }
  return out;
}

SaidAndCame fifth_of(std::span<const Spoken> spoken) {
  SaidAndCame out;
  out.move_least = spoken.front().move;
  out.move_most = spoken.back().move;
  std::vector<Counted> counted;
  for (const Spoken& one : spoken) {
    out.said += one.said / static_cast<double>(spoken.size());
    out.own += one.own / static_cast<double>(spoken.size());
    counted.push_back({one.day, one.came});
  }
  out.came = share_by_month(counted);
  return out;
}

void add_errors(const std::vector<Spoken>& spoken, CurveGrade& out) {
  std::vector<Forecast> said, own;
  for (const Spoken& one : spoken) {
    said.push_back({one.said, one.came});
    own.push_back({one.own, one.came});
  }
  out.said_error = brier(said);
  out.own_error = brier(own);
  out.area = area_under_curve(std::move(said));
}

}  // namespace

WatchRates base_rates(Watches watches) {
  WatchRates out;
  std::vector<Forecast> nearness;
  for (const WeekendWatch& watch : watches) {
    ++out.watches;
    out.crossed += watch.followed.at >= 0;
    out.bought += watch.followed.bought;
    out.within_5 += watch.followed.within_5 ? 1 : 0;
    nearness.push_back({-watch.moves_to_pivot, watch.followed.within_5});
  }
  if (out.watches > 0) out.within_5 /= out.watches;
  out.within_5_area = area_under_curve(std::move(nearness));
  out.up20 = share_of(watches, [](const FollowedPivot& one) { return one.first == CameFirst::up20; });
  out.down8 = share_of(watches, [](const FollowedPivot& one) { return one.first == CameFirst::down8; });
  out.held = share_of(watches, [](const FollowedPivot& one) { return one.held; });
  out.surge = share_of(watches, [](const FollowedPivot& one) { return one.surge; });
  return out;
}

CurveGrade grade_curve(Watches watches, CameFirst which, const OddsCurve& book, const OddsCurve& prior) {
  CurveGrade out;
  const auto curves = curves_by_year(watches, which, prior);
  std::vector<Spoken> spoken;
  for (const WeekendWatch& watch : watches) {
    if (!watch.followed.bought) continue;
    const auto own = curves.find(year_of(watch.crossed));
    out.with_own += own != curves.end();
    const double move = watch.ordinary_move;
    spoken.push_back({move, book.at(move), (own != curves.end() ? own->second : prior).at(move),
                      watch.followed.first == which, watch.crossed});
  }
  std::stable_sort(spoken.begin(), spoken.end(), [](const Spoken& a, const Spoken& b) { return a.move < b.move; });
  add_errors(spoken, out);
  if (spoken.size() < 50) return out;
  for (std::size_t fifth = 0; fifth < 5; ++fifth) {
    const std::size_t from = spoken.size() * fifth / 5, to = spoken.size() * (fifth + 1) / 5;
    out.fifths.push_back(fifth_of(std::span(spoken).subspan(from, to - from)));
  }
  return out;
}

std::optional<OddsBook> fit_book(Watches watches) {
  std::vector<OddsExample> up20, down8;
  for (const WeekendWatch& watch : watches) {
    if (!watch.followed.bought) continue;
    up20.push_back({watch.ordinary_move, watch.followed.first == CameFirst::up20});
    down8.push_back({watch.ordinary_move, watch.followed.first == CameFirst::down8});
  }
  if (static_cast<int>(up20.size()) < kFitLeast) return std::nullopt;
  return OddsBook{fit_curve(up20, kShippedUp20), fit_curve(down8, kShippedDown8), static_cast<int>(up20.size())};
}

}  // namespace brimwatch
