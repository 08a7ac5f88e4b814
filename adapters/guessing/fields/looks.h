#pragma once
// What the texts of a column look like: symbols, codes of markets, sale conditions, words that are none of these. Pure.
#include <optional>
#include <string>

#include "adapters/guessing/behaviour.h"

namespace brimwatch {

/// Shares of the texts, and how long they are on average.
struct TextLooks {
  double upper = 0, single = 0, tape_word = 0, length = 0, mic = 0;
};
[[nodiscard]] TextLooks looks_of(const PointerColumn& column);

/// What a flag says in the words that the decoder reads (decoding/flag.h), but "T" and "F", which the tape has for sale
/// conditions; nothing at all is no. Empty for any other value.
[[nodiscard]] std::optional<bool> flag_in(const Leaf& leaf);
/// Flags all, and one of them at least that is a word or a number.
[[nodiscard]] bool are_flags(const PointerColumn& column);
/// The same with "T" and "F": only where the name says that it is a flag.
[[nodiscard]] bool are_truths_in_letters(const PointerColumn& column);

/// 0 to 1: how far they look like sale conditions.
[[nodiscard]] double condition_looks(const PointerColumn& column);

/// A few short codes; where the name says it, a few words or numbers of any length too.
[[nodiscard]] bool may_be_exchange(const PointerColumn& column);

/// Four capitals or digits, as ISO 10383 has them; and each comes with several symbols, so that they are none themselves.
[[nodiscard]] bool are_market_codes(const Table& table, const PointerColumn& column);

}  // namespace brimwatch
