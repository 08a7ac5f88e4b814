#pragma once
// Sale conditions of one message: from the source's words, or the tape's letters, to the tape's codes. Pure.
#include "adapters/feeds/decoding/message.h"

namespace brimwatch {

/// `odd_lot`: the source says by other means (a flag, the size) that the trade is one. What is not known shows as '?',
/// which moves no price, and is counted by what the source wrote.
[[nodiscard]] Conditions conditions_of(const Mapping& mapping, const FieldValue& value, const MessageValues& message,
                                       bool odd_lot, UnknownCodes& unknown);

/// Every code that the table of either tape has: a source that uses them gives symbols of both.
[[nodiscard]] std::string codes_of_the_tapes();

}  // namespace brimwatch
