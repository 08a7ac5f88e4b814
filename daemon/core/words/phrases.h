#pragma once
// What the words of a notice are put together from: numbers with their units, volumes, odds. They may hold a tie between
// a number and its unit, which `untied` makes a blank; what leaves the room (core/wording.h) is untied.
#include <string>
#include <string_view>

#include "core/notice.h"

namespace brimwatch::words {

/// Keeps a number and its unit on one line. Text from outside has none (clean_line).
constexpr std::string_view kTie = "\u00A0";

[[nodiscard]] std::string untied(std::string text);
[[nodiscard]] std::string tied(std::string number, std::string_view unit);

/// "2.30"; "?" for what is no number.
[[nodiscard]] std::string fixed(double value, int decimals);

/// "+40 %", "-8.0 %".
[[nodiscard]] std::string percent(double value, int decimals);

/// "+40 %", "+42.5 %": a decimal only where there is something in it.
[[nodiscard]] std::string needed_text(double value);

/// "2nd", "11th".
[[nodiscard]] std::string ordinal(int n);

/// Where the first sentence, or the first half of one, ends; the length of a text that is in one piece.
[[nodiscard]] std::size_t end_of_first_part(std::string_view text);

/// Of `price` from `base`: "+0.1 %"; with a second decimal where the first would show nothing.
[[nodiscard]] std::string change(Price price, Price base);

/// "0.4 s", "45 s", "15 min", "3 h 05 min".
[[nodiscard]] std::string span(Nanos length);

/// "normal 1.29M"; of a mean that rests on little it says so.
[[nodiscard]] std::string normal_text(const VolumeView& volume);

/// "612k, heading for 2.30M (1.90M-2.80M), +78 % on normal 1.29M", or why there is no judgement.
[[nodiscard]] std::string phrase(const VolumeView& volume);

/// A sentence on a normal volume that cannot be one of a day like others; most likely a list in round lots of a hundred.
[[nodiscard]] std::string doubt_of_normal(const VolumeView& volume);

/// "odds of +40 %: 0.94, heavy"; empty when there is no judgement.
[[nodiscard]] std::string judgement(const VolumeView& volume);

}  // namespace brimwatch::words
