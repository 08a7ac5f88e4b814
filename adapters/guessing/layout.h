#pragma once
// From guesses to the keys of a mapping: which pointers are common to all kinds and which are a kind's own, what tells
// the kinds apart, where the messages stand. Pure.
#include <string>
#include <vector>

#include "adapters/guessing/kinds.h"
#include "adapters/guessing/places.h"
#include "config/settings.h"

namespace brimwatch {

/// Fills fields, fields_of, kind_words, rules, default_kind and columns.
void lay_out(const FoundPlaces& places, const Sorts& sorts, const std::vector<SortGuess>& guesses,
             FeedSettings& settings);

/// The sort of that kind with most messages; null where there is none.
[[nodiscard]] const SortGuess* sort_of(const std::vector<SortGuess>& guesses, MessageKind kind);

/// The kind that the mapping's `fields` are written for: trades where there are any.
[[nodiscard]] MessageKind main_kind(const std::vector<SortGuess>& guesses);

/// A pointer of the map by its field.
[[nodiscard]] std::string& pointer_in(FieldMap& map, Field field);

}  // namespace brimwatch
