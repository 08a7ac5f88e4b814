#pragma once
// An old list carried forward to a new day: what expired, broke or moved, and why, with everything that is the user's
// left as it was. Pure.
#include <string>
#include <string_view>
#include <vector>

#include "core/result.h"
#include "weekend/prepare.h"

namespace brimwatch {

enum class Fate : std::uint8_t {
  kept,     ///< nothing changed
  moved,    ///< another pivot: the base went on and has a new peak, or a split changed the price's terms
  crossed,  ///< the price has been above the pivot since: the watch goes on until it expires
  renewed,  ///< same pivot, new facts, a new last day
  expired,  ///< its last day is past and no base is found under it: taken off
  broke,    ///< the price fell out of the base: taken off
  unknown,  ///< no bars for the symbol: left as it is
  added,    ///< a base that the old list did not have
};
[[nodiscard]] std::string_view to_string(Fate fate);

struct Change {
  Fate fate = Fate::kept;
  std::string symbol;
  Price before, after;  ///< pivots; 0 where there was or is none
  std::string reason;   ///< a sentence
};

struct Carried {
  std::string list;             ///< the new list, ready to be written
  std::vector<Change> changes;  ///< one a watch, in the order of the old list, then what was added
};

/// Symbols of the old list, sorted: what to ask prepare() to keep bars of. Errors name line and column.
[[nodiscard]] Result<std::vector<std::string>> symbols_of(std::string_view old_list, std::string_view name);

/// `prepared` must hold the bars of the old list's symbols (keep_symbols); the splits kept with them bring old pivots to
/// today's terms, once: a comment of ours then says so. The input's report dates mark what reports soon.
[[nodiscard]] Result<Carried> carry(std::string_view old_list, std::string_view name, const Prepared& prepared,
                                    const PrepareInput& input);

/// A line a change, for the terminal.
[[nodiscard]] std::string in_words(const std::vector<Change>& changes);

}  // namespace brimwatch
