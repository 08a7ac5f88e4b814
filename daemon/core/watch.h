#pragma once
// One symbol with one pivot and its limits, as read from a watch list: everything resolved, nothing left to a default.
#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "core/price.h"
#include "core/shares.h"
#include "core/text/timestamp.h"
#include "core/tick_sizes.h"

namespace brimwatch {

/// What a price that looks like a split does: a watch whose stock nobody holds by it says nothing that day; or everything
/// is told, with the doubt; or nobody looks.
enum class SplitGuard : std::uint8_t { quiet, ask, off };
/// Which halts are told: those near or above a watch's levels, all, or none.
enum class Halts : std::uint8_t { near, all, none };

/// Percentages are in millionths of a percent (5 % = 5'000'000), so that levels come out exact; odds are fractions.
/// The types are as narrow as the configuration's own limits allow: a list may hold a million watches.
struct Rules {
  std::int32_t range = 5'000'000;       ///< buy range above the pivot
  std::int32_t surge = 40'000'000;      ///< day volume wanted above normal
  std::int32_t rearm = 1'000'000;       ///< how far under the pivot before a crossing counts again
  std::int32_t slip = 1'000'000;        ///< how far under the pivot before "fell under" is said
  std::int32_t loss = 8'000'000;        ///< loss limit under the pivot; of a holding, under one's own price
  std::int32_t gain = 20'000'000;       ///< a holding that has risen so far above one's own price is told; 0: it is not
  std::int32_t gain_more = 25'000'000;  ///< and once more; 0: it is not
  std::int32_t bad_print =
      5'000'000;          ///< a trade this far from the last one needs a second to confirm it; 0 switches it off
  Price offset{100'000};  ///< added to `peak` to make the pivot: 0.10
  Price tick_size;        ///< one step at every price; not set: those of `tick_table`
  double odds_heavy = 0.70;
  double odds_light = 0.30;
  std::uint16_t per_day = 3;         ///< most crossing notices a day
  std::uint16_t confirm_trades = 1;  ///< eligible trades at or above the pivot, in a row, that make a crossing
  std::uint16_t confirm_seconds = 0;
  std::uint16_t least_size = 0;  ///< shares; a smaller print crosses nothing. 0: every size does
  TickTable tick_table = TickTable::market;
  bool trust_auctions = true;  ///< prints of an opening, reopening or closing auction pass the print guard
  SplitGuard split_guard = SplitGuard::quiet;
  Halts halts = Halts::near;
  bool second_day = false;   ///< volume that arrives on a later day, while the price is still in the range, is told
  bool close_above = false;  ///< the day's end is told of every watch that closes above its pivot

  bool operator==(const Rules&) const = default;
};

/// ISO 10383 market identifier code: four characters, e.g. XNYS. Reads as text; empty when not set.
class Mic {
 public:
  constexpr Mic() = default;
  constexpr Mic(std::string_view text) {  // NOLINT(google-explicit-constructor): a MIC is its text
    for (std::size_t i = 0; i < text.size() && i < code_.size(); ++i) code_[i] = text[i];
  }
  constexpr Mic(const char* text) : Mic(std::string_view(text)) {}                // NOLINT(google-explicit-constructor)
  Mic(const std::string& text) : Mic(std::string_view(text)) {}                   // NOLINT(google-explicit-constructor)
  constexpr operator std::string_view() const { return {code_.data(), size()}; }  // NOLINT(google-explicit-constructor)
  [[nodiscard]] std::string text() const { return std::string(std::string_view(*this)); }
  [[nodiscard]] constexpr bool empty() const { return code_[0] == 0; }
  constexpr auto operator<=>(const Mic&) const = default;

 private:
  [[nodiscard]] constexpr std::size_t size() const {
    std::size_t n = 0;
    while (n < code_.size() && code_[n] != 0) ++n;
    return n;
  }
  std::array<char, 4> code_{};
};

enum class Tape : std::uint8_t { cts, utdf };  ///< whose sale conditions apply: tapes A and B, or tape C

struct Watch {
  std::string symbol;
  std::string note;  ///< the user's own words, shown in notices
  Mic calendar;      ///< whose sessions it trades in
  Tape tape = Tape::cts;
  char listing = 0;        ///< participant code of the listing market, 0 when unknown
  std::uint16_t file = 0;  ///< where its pivot was read: index into Settings::files
  std::uint32_t line = 0;
  std::uint16_t column = 0;
  Price pivot;
  Price range_top, rearm_level, slip_level, loss_limit;  ///< see Levels
  std::optional<Shares> normal_volume;                   ///< as given in the list; else it comes from history
  std::optional<Date> from, until;                       ///< first and last day, both included
  Rules rules;

  bool operator==(const Watch&) const = default;
};

/// The step of prices at `price`. Never 0.
[[nodiscard]] Price tick_at(const Rules& rules, Price price);
/// The highest price on a tick that is not above `price`, and the lowest that is not under it.
[[nodiscard]] Price on_tick_down(const Rules& rules, Price price);
[[nodiscard]] Price on_tick_up(const Rules& rules, Price price);

/// The prices at which something happens. All but a given pivot lie on ticks and are rounded down: a price on a tick is
/// above 50.7675, or at or under 44.482, exactly when it is above 50.76, or at or under 44.48. So rounding moves no
/// event, and the loss limit is not reached before the whole of its percent is lost.
struct Levels {
  Price pivot;      ///< as given; one made of peak and offset is rounded up, for it is crossed from there on
  Price range_top;  ///< pivot + range
  Price back;       ///< at or below, a price that was over the range is back inside: a quarter of `slip`, or of a range
                    ///< that is narrower, under the top; never under the pivot
  Price rearm;      ///< at or below: armed again; under the pivot, as the next two are
  Price slip;       ///< at or below: fell under
  Price loss;       ///< at or below: loss limit, rounded down to the tick size
  std::array<Price, 2> gains{};  ///< of a holding: at or above each, a gain; not set: none

  bool held = false;  ///< they are one's own: see hold_at()

  [[nodiscard]] bool is_held() const { return held; }
  bool operator==(const Levels&) const = default;
};

[[nodiscard]] Levels levels_of(Price pivot, const Rules& rules);

/// Of a stock that is held: the loss limit and the gains are taken from one's own price. It may lie anywhere.
void hold_at(Levels& levels, Price bought, const Rules& rules);

/// Fills the levels from pivot and rules.
void set_levels(Watch& watch);

}  // namespace brimwatch
