#pragma once
// Whether the values of a column can be a field at all, and how much they are like one. Pure.
#include <optional>
#include <string>

#include "adapters/feeds/decoding/mapping.h"
#include "adapters/guessing/behaviour.h"

namespace brimwatch {

[[nodiscard]] bool is_price_field(Field field);
[[nodiscard]] bool is_size_field(Field field);

/// Fields that values alone do not tell.
[[nodiscard]] bool needs_name(Field field);

/// 0 to 1; nothing where they cannot be it.
[[nodiscard]] std::optional<double> can_be(Field field, const PointerColumn& column, const Behaviour& b);

/// What in the values speaks for it, for a person.
[[nodiscard]] std::string why_so(Field field, const Table& table, const PointerColumn& column, const Behaviour& b);

}  // namespace brimwatch
