#pragma once
// Numbers and times as sources write them, read without a double on the way.
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

#include "adapters/feeds/decoding/zoned_time.h"
#include "core/text/timestamp.h"

namespace brimwatch {

/// A decimal number times 10^decimals; digits below that are cut off (towards zero). Takes the grammar of JSON numbers,
/// exponents included ("4.835e1"), and beside it a missing digit on one side of the point (".5", "5."), as some sources
/// write in text. Empty when the text is anything else (NaN, hex, blanks, separators) or does not fit 64 bits.
[[nodiscard]] std::optional<std::int64_t> scaled_decimal(std::string_view text, int decimals);

enum class TimeFormat : std::uint8_t { rfc3339, seconds, millis, micros, nanos };

/// "rfc3339", "s", "ms", "us", "ns".
[[nodiscard]] std::optional<TimeFormat> time_format_of(std::string_view word);

/// Epoch numbers may have a fraction; `zone` is that of texts that name none (zoned_time.h). Empty when the text does not
/// fit the format or lies outside 1990 to 2200, where a wrong unit would put it.
[[nodiscard]] std::optional<Timestamp> parse_time(std::string_view text, TimeFormat format,
                                                  std::span<const ZoneShift> zone = {});

}  // namespace brimwatch
