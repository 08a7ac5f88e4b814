#pragma once
// One message, taken out of its JSON: the values that the mapping asks for, and what they come to. Pure; no JSON here.
#include <span>
#include <string>
#include <string_view>

#include "adapters/feeds/mapping.h"
#include "core/tick.h"

namespace brimwatch {

/// A value as it stands in the message. Views live as long as the frame that they came from.
struct FieldValue {
  enum class Kind : std::uint8_t { absent, text, number, word, list } kind = Kind::absent;  ///< word: true, false
  std::string_view text;               ///< text without quotes and escapes; number and word as written
  std::uint32_t first = 0, count = 0;  ///< list: its entries in MessageValues::entries
};

struct MessageValues {
  std::span<const FieldValue> slots;          ///< by slot number
  std::span<const std::string_view> entries;  ///< of the lists
  std::string_view key;                       ///< the member's name, where messages are members of an object
};

/// What the message is, by the rules first, then by the field `kind`, then by the default.
[[nodiscard]] MessageKind kind_of(const Mapping& mapping, const MessageValues& values);

/// The symbol as we write it; empty when there is none or it has not the source's form.
[[nodiscard]] std::string_view symbol_of(const Mapping& mapping, MessageKind kind, const MessageValues& values);

/// The number that counts messages up; 0 when the message has none.
[[nodiscard]] std::uint64_t sequence_of(const Mapping& mapping, MessageKind kind, const MessageValues& values);

/// Fills everything but symbol, feed and received. Returns nullptr, or what is wrong: a field's name, for a person.
[[nodiscard]] const char* fill_tick(const Mapping& mapping, MessageKind kind, const MessageValues& values, Tick& tick);

}  // namespace brimwatch
