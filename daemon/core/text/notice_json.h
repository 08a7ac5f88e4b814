#pragma once
// A notice as one JSON object: what `--json` prints, what a command reads on standard input, what a webhook carries.
// Keys, order and number formats are stable; the same notice gives the same bytes.
#include <string>

#include "core/notice.h"

namespace brimwatch {

/// One line, no newline at its end. Keys: id, time (RFC 3339 at the exchange's offset), day, symbol, kind, pivot,
/// range_top, loss_limit, price, price_before, side, volume, normal_volume, projected_volume, projected_low,
/// projected_high (80 %), projected_surge, needed_surge (percent), odds (0..1), weight, trend, age_seconds, feed_ratio
/// (only when not 1), title, text, note. Prices and share counts are exact decimals. A number that is not known is null;
/// a word, "unknown".
[[nodiscard]] std::string to_json(const NoticeRecord& record, std::chrono::seconds offset);

/// The same, at the record's own offset.
[[nodiscard]] inline std::string to_json(const NoticeRecord& record) { return to_json(record, record.offset); }

}  // namespace brimwatch
