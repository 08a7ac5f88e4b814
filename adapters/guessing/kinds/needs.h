#pragma once
// How much of what a kind of message needs was found in one. Pure.
#include "adapters/guessing/fields.h"

namespace brimwatch {

[[nodiscard]] bool has_field(const FieldGuesses& fields, Field field);

/// 0: it cannot be one; 0.5: it can.
[[nodiscard]] double found_of(MessageKind kind, const FieldGuesses& fields);

/// A high that never falls and a low that never rises, for each symbol over many messages while the price moves, are the
/// day's, beside a trade or a quote. Those of bars begin anew; of one bar while it grows, the volume grows with them.
[[nodiscard]] bool is_range_of_day(const Table& table, const FieldGuesses& fields);

/// The day's volume rises by each message's size: no trade between them is missing.
[[nodiscard]] bool is_proved_by_total(const FieldGuesses& fields);

}  // namespace brimwatch
