#pragma once
// Messages that say nothing of a symbol: what a source answers, and its signs of life. Pure.
#include <optional>
#include <string>

#include "adapters/guessing/kinds.h"

namespace brimwatch {

/// An answer or a sign of life: told by any word in it.
[[nodiscard]] MessageKind without_symbol(const Table& table, const std::optional<MessageKind>& said);

/// "ok" is no trading status: it is what a source says to what it was asked. `status`: where that would stand.
[[nodiscard]] std::optional<MessageKind> answer_in(const Table& table, const std::string& status);

/// "subscribed" comes after we asked: to wait for it before we ask would be to wait for ever. A login's yes is waited
/// for.
void settle_answers(SortGuess& guess, const Table& table);

}  // namespace brimwatch
