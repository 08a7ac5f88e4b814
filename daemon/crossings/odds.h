#pragma once
// What may be said at the weekend of a crossing that has not come: how near it is, and how often crossings by stocks that
// move so rose 20 % before they fell 8 %, or fell first. Pure.
//
// The shipped figures: 35,023 crossings of plain 50-day highs by 501 large US stocks, every second weekend of 2001-2020
// (stocks that are still traded, so that rises are flattered). Nothing else that was known at the weekend, the kind of
// base included, told more; within single years what came was half to 1.7 times what is said here.
#include <string>

namespace brimwatch {

/// p = 1 / (1 + exp(-(level + move / v))), v the ordinary move in percent.
struct OddsCurve {
  double level = 0;
  double move = 0;

  [[nodiscard]] double at(double ordinary_move) const;
  bool operator==(const OddsCurve&) const = default;
};

constexpr OddsCurve kShippedUp20{0.099, -2.705};
constexpr OddsCurve kShippedDown8{0.772, -1.302};
constexpr double kFewSeenOver = 3;  ///< ordinary move, %, over which hardly a crossing was among those counted

/// Of all those crossings, without regard to the ordinary move: the base rates.
constexpr double kShippedUp20Rate = 0.122;
constexpr double kShippedDown8Rate = 0.414;

struct OddsBook {
  OddsCurve up20 = kShippedUp20;    ///< rises 20 % from the entry before it falls 8 %, within 60 sessions
  OddsCurve down8 = kShippedDown8;  ///< falls 8 % first
  int own_crossings = 0;            ///< of the user's own bars that went into the curves

  [[nodiscard]] bool shipped() const { return up20 == kShippedUp20 && down8 == kShippedDown8; }
};

/// Chance that the pivot is reached within five sessions, from its distance in ordinary moves.
[[nodiscard]] double cross_in_5(double moves_to_pivot);

/// Where the curves come from, as a phrase for a person.
[[nodiscard]] std::string origin_of(const OddsBook& book);

}  // namespace brimwatch
