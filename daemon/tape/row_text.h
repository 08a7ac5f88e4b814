#pragma once
// A tick as one row of a recording: every column, so that a recording holds whatever a feed may bring. Reading the row
// gives the same tick back but for the feed's index.
#include <string>
#include <string_view>

#include "core/tick.h"

namespace brimwatch {

inline constexpr std::string_view kRecordingHeader =
    "time,symbol,price,size,conditions,exchange,id,kind,day_volume,bid,ask,bid_size,ask_size,status,received\n";

/// `symbol` is the name of tick.symbol; empty for a hole in all symbols.
void append_row(std::string& out, const Tick& tick, std::string_view symbol);

}  // namespace brimwatch
