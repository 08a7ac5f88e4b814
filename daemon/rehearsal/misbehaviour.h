#pragma once
// A fault that a played source injects on request: KIND[:AMOUNT][@hh:mm[:ss]]. Pure.
//
//   stall:30@10:15      nothing for 30 s, then all of it at once
//   lose:30@10:15       nothing for 30 s, and what was due then never comes
//   away:30@10:15       the source goes: connections end, nobody gets in for 30 s
//   close:1013@10:15    ends each connection with this code (a poll: answers this status once)
//   cut@10:15           ends each connection without a word
//   delay:90            everything comes 90 s late, from the moment on where one is given
//   drop:1 garbage:1 duplicate:1 reorder:1    this percentage of messages
//
// Seconds are the tape's own. A thing that happens once and is given no moment gets one from the seed, within the first
// hour.
#include <cstdint>
#include <optional>
#include <string_view>

#include "core/result.h"

namespace brimwatch {

struct Misbehaviour {
  enum class Kind : std::uint8_t { stall, lose, away, close, cut, delay, drop, garbage, duplicate, reorder };
  Kind kind = Kind::stall;
  double amount = 0;      ///< seconds, a close code or status, or a percentage: by kind
  int second_of_day = 0;  ///< the tape's local time, where `timed`
  bool timed = false;

  bool operator==(const Misbehaviour&) const = default;
};

/// Whether it happens once, rather than to some of the messages or from a moment on.
[[nodiscard]] constexpr bool happens_once(Misbehaviour::Kind kind) { return kind <= Misbehaviour::Kind::cut; }

/// An error says what was found and what is allowed.
[[nodiscard]] Result<Misbehaviour> parse_misbehaviour(std::string_view text);

/// "hh:mm" or "hh:mm:ss" as seconds of a day.
[[nodiscard]] std::optional<int> parse_second_of_day(std::string_view text);

}  // namespace brimwatch
