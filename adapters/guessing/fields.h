#pragma once
// Which value of one sort of message is what: each with its evidence, and how sure that is. Pure.
#include <map>
#include <set>
#include <string>
#include <vector>

#include "adapters/feeds/decoding/mapping.h"
#include "adapters/guessing/behaviour.h"

namespace brimwatch {

enum class Sure : std::uint8_t {
  asked,   ///< cannot be told: the person is asked
  likely,  ///< probably so: look at it
  sure,
};
[[nodiscard]] std::string_view word_of(Sure sure);

struct FieldGuess {
  std::string pointer;
  Sure sure = Sure::likely;
  std::string why;        ///< the evidence, for a person
  std::string name = {};  ///< the pointer, or the name that the source gives that place in a list
};
using FieldGuesses = std::map<Field, FieldGuess>;

/// What is known of the whole sample when one sort is judged.
struct Known {
  std::set<std::string> symbols;                              ///< of other sorts, as they write them
  std::set<std::string> tellers;                              ///< pointers that tell the kind: they are nothing else
  std::map<std::string, std::set<std::string>> numbers = {};  ///< pointers of numbers that stand for symbols, with these
  std::map<Field, std::string> usual;  ///< pointers that the trades have: others mostly have the same
};

/// "symbol", "price", ... as the mapping's keys are called.
[[nodiscard]] std::string field_name(Field field);
/// The fields that a message of the kind has use for, the most telling first.
[[nodiscard]] const std::vector<Field>& fields_for(MessageKind kind);

/// The symbol's pointer in the messages of a table, or nothing.
[[nodiscard]] std::optional<FieldGuess> guess_symbol(const Table& table, const Known& known);

/// All fields of the kind that can be told. The table's messages are grouped by symbol.
[[nodiscard]] FieldGuesses guess_fields(const Table& table, MessageKind kind, const Known& known);

}  // namespace brimwatch
