#pragma once
// What the name of a value lets one suppose of it. Names are a hint and no more: how the values behave decides. Pure.
//
// Source: the names are the ordinary words of the trade and their abbreviations, as field names of market data commonly
// are, and the tag numbers of the FIX Protocol (fixtrading.org, FIX 4.4 fields by tag); common practice, from memory.
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/feeds/decoding/mapping.h"

namespace brimwatch {

/// 0 to 1: how much a name speaks for a field. A name that speaks for something that we do not map, such as an average
/// price, counts against every field: -1.
[[nodiscard]] double name_speaks_for(Field field, std::string_view pointer);

/// 0 to 1: whether a name is one under which sources say what kind a message is.
[[nodiscard]] double name_speaks_for_kind(std::string_view pointer);

/// Words of a pointer's last token: "lastTradePrice" is last, trade, price. Small letters.
[[nodiscard]] std::vector<std::string> words_in(std::string_view name);

/// The kind that a source's word for a message stands for, where the trade has such a word. "bar" and "day" too.
[[nodiscard]] std::optional<MessageKind> kind_of_word(std::string_view word);

/// Our word for a source's trading status, or nothing.
[[nodiscard]] std::string_view status_of_word(std::string_view word, std::string_view pointer);

/// The tape's code for a source's word for a sale condition; nothing where it is not known.
[[nodiscard]] std::optional<std::string_view> condition_of_word(std::string_view word);

}  // namespace brimwatch
