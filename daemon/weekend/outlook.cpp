#include "weekend/outlook.h"

#include <fmt/core.h>

namespace brimwatch {
namespace {

/// What the odds do not cover, or what to think of them.
std::string caution_of(const Outlook& outlook) {
  if (outlook.move.sessions < kMoveSessions) {
    return fmt::format("its move is of {} sessions only; the odds were measured on {}", outlook.move.sessions,
                       kMoveSessions);
  }
  if (outlook.move.percent > kFewSeenOver) {
    return fmt::format("few stocks that move more than {:.0f} % a day were seen: take it for a guess", kFewSeenOver);
  }
  return "in single years half to 1.7 times that; the shape adds nothing measured";
}

}  // namespace

OddsBook odds_book(const RuleBook& book) {
  return {{book.up20_level, book.up20_move}, {book.down8_level, book.down8_move}, book.odds_crossings};
}

std::optional<Outlook> outlook_of(std::span<const DailyBar> bars, Price pivot, const OddsBook& odds) {
  const int last = static_cast<int>(bars.size()) - 1;
  const auto move = ordinary_move(bars, last);
  if (!move) return std::nullopt;
  Outlook out;
  out.move = *move;
  out.moves_to_pivot = moves_between(bars[static_cast<std::size_t>(last)].close, pivot, move->percent);
  out.cross_in_5 = cross_in_5(out.moves_to_pivot);
  out.up20_first = odds.up20.at(move->percent);
  out.down8_first = odds.down8.at(move->percent);
  return out;
}

std::vector<std::string> outlook_lines(const Outlook& outlook, const OddsBook& odds) {
  return {
      fmt::format("{:.1f} ordinary moves ({:.1f} % a day) above the close; some {:.0f} of 100 cross within a week",
                  outlook.moves_to_pivot, outlook.move.percent, 100 * outlook.cross_in_5),
      fmt::format(
          "of 1,000 crossings by stocks that move so: {:.0f} rose 20 % before falling 8 %, {:.0f} fell first (all plain "
          "50-day highs: {:.0f}, {:.0f})",
          1000 * outlook.up20_first, 1000 * outlook.down8_first, 1000 * kShippedUp20Rate, 1000 * kShippedDown8Rate),
      caution_of(outlook), "odds " + origin_of(odds)};
}

}  // namespace brimwatch
