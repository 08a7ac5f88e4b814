#pragma once
// One message, taken out of its JSON: the values that the mapping asks for, and how they are read. Pure; no JSON
// here.
#include <span>
#include <string>
#include <string_view>

#include "adapters/feeds/decoding/mapping.h"
#include "adapters/feeds/decoding/unknown_codes.h"
#include "core/tick.h"

namespace brimwatch {

/// A value as it stands in the message. Views live as long as the frame that they came from.
struct FieldValue {
  enum class Kind : std::uint8_t {
    absent,
    nothing,  ///< null, or an object
    text,
    number,
    word,  ///< true, false
    list,
    bad,  ///< no JSON value, or its name stands in the message twice
  } kind = Kind::absent;
  std::string_view text{};             ///< text without quotes and escapes; number and word as written
  std::uint32_t first = 0, count = 0;  ///< list: its entries in MessageValues::entries

  [[nodiscard]] bool is_given() const { return kind != Kind::absent && kind != Kind::nothing; }
};

struct MessageValues {
  std::span<const FieldValue> slots;          ///< by slot number
  std::span<const std::string_view> entries;  ///< of the lists

  [[nodiscard]] const FieldValue& at(Slot slot) const { return slots[static_cast<std::size_t>(slot)]; }
};

/// The kind of a message by the rules.
struct Told {
  MessageKind kind = MessageKind::unknown;
  const CompiledRule* rule = nullptr;  ///< the one that told it, if one did
  bool bad = false;                    ///< a value that would have told it cannot be read
};

/// By the rules first, then by the field `kind`; `usual` where neither tells.
[[nodiscard]] Told tell_kind(const Mapping& mapping, const MessageValues& values, MessageKind usual);

/// What stands in the message at a field of that kind.
[[nodiscard]] FieldValue field_of(const Mapping& mapping, MessageKind kind, Field field, const MessageValues& values);

/// The symbol as we write it; empty when it has not the source's form.
[[nodiscard]] std::string_view symbol_of(const Mapping& mapping, std::string_view text);

/// The number that counts messages up; 0 when the message has none.
[[nodiscard]] std::uint64_t sequence_of(const Mapping& mapping, MessageKind kind, const MessageValues& values);

/// Fills everything but symbol, feed and received. Returns nullptr, or what is wrong: a field's name, for a person.
[[nodiscard]] const char* fill_tick(const Mapping& mapping, MessageKind kind, const MessageValues& values, Tick& tick,
                                    UnknownCodes& unknown);

}  // namespace brimwatch
