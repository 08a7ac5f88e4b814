#pragma once
// Which bases of a stock go on the list, in what order the list stands, and why a stock is not on it. Pure.
#include <string>
#include <vector>

#include "weekend/candidate.h"

namespace brimwatch {

/// What one shape is next to another of the same stock: the fewest broken core rules, the fewest broken, the longest. The
/// plain high comes after every base.
[[nodiscard]] bool fits_better(const Candidate& a, const Candidate& b);

/// Leaves those that keep the core rules and break few others, each pivot once, at most per_symbol; the plain high only
/// where it is asked for and nothing else was found. `found` is in the order of fits_better().
void choose(std::vector<Candidate>& found, const RuleBook& book);

/// Why none of `found` was chosen, a phrase: the best of them and what it breaks.
[[nodiscard]] std::string why_none(const std::vector<Candidate>& found, const RuleBook& book);

/// Order of a list: sound data first, then nearness to the pivot, then symbol. Never by what is likely to rise: that
/// finds the wildest, which fall first more often still.
[[nodiscard]] bool stands_before(const Candidate& a, const Candidate& b);

/// Sound, and within RuleBook::near ordinary moves of its pivot.
[[nodiscard]] bool is_near(const Candidate& one, const RuleBook& book);

}  // namespace brimwatch
