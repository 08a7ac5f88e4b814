#pragma once
// The journal for a person: notices as a table of at most 80 columns, deliveries under them; and deliveries as JSON.
#include <chrono>
#include <string>

#include "core/delivery.h"
#include "core/state.h"

namespace brimwatch {

/// "2026-11-25, Wednesday" and the heads of the columns; before the first row of each day.
[[nodiscard]] std::string table_head(Date day);

/// One line: time at the exchange, symbol, what, price, pivot, and for crossings and volume the surge and its odds. A
/// notice that is not about a price says its title instead.
[[nodiscard]] std::string table_row(const NoticeRecord& record);

/// "            email     delivered  10:42:08  2 attempts; 250 taken"
[[nodiscard]] std::string delivery_line(const DeliveryRow& row, std::chrono::seconds offset);

/// One object a line. Keys: delivery_of (the notice's id), channel, state, attempts, unknown_attempts, next, done (RFC
/// 3339 or null), digest, reply.
[[nodiscard]] std::string to_json(const DeliveryRow& row, std::chrono::seconds offset);

/// One object a line. Keys: day, symbol, volume, coverage (0..1), open, high, low, close, half_day. A price that is not
/// known is null.
[[nodiscard]] std::string to_json(const DayRecord& record);

/// One object a line. Keys: feed, symbol (empty: all), from, to (RFC 3339), why.
[[nodiscard]] std::string to_json(const Hole& hole, std::chrono::seconds offset);

/// Which of several machines said a notice. Keys: said_of (the notice's id), by.
[[nodiscard]] std::string speaker_json(const std::string& notice_id, const std::string& member);

}  // namespace brimwatch
