#pragma once
// The messages of a played source: ticks as JSON under the tape's own column names, and the configuration that reads
// them. Pure.
#include <cstdint>
#include <string>
#include <string_view>

#include "core/tick.h"

namespace brimwatch {

/// One JSON object. Prices and sizes are texts, so that nobody on the way makes a double of them; times are UTC.
/// `number` counts up for each symbol. What the tick has not is left out.
void append_message(std::string& out, const Tick& tick, std::string_view symbol, std::uint64_t number);

/// The message broken in one of several ways: cut off, a byte that is no UTF-8, a word for a price, a name twice.
[[nodiscard]] std::string garbled(const std::string& message, std::uint64_t choice);

/// A text as a JSON string, with its quotes.
void append_json_text(std::string& out, std::string_view text);

enum class ServeAs : std::uint8_t { stream, poll };

/// The [[feed]] that reads this source: TOML, ready to be pasted.
[[nodiscard]] std::string feed_configuration(ServeAs as, int port, double speed);

}  // namespace brimwatch
