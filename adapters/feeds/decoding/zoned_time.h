#pragma once
// Times as sources write them where they do not keep to RFC 3339: "+0000" for an offset, or none at all, the zone being
// known otherwise. Pure once the zone has been read.
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/result.h"
#include "core/text/timestamp.h"
#include "session/zone.h"

namespace brimwatch {

/// The shifts of a zone (IANA name) over all years that a feed's times may have. Empty for an empty name.
[[nodiscard]] Result<std::vector<ZoneShift>> read_zone(const std::string& name);

/// RFC 3339, and beside it an offset written "+0000" or "+00", and the UTCTimestamp of the FIX Protocol
/// ("20261014-14:00:01.5"), and dates with "/" in place of "-". A time without an offset is the local time of `zone`; of
/// the two that an hour set back has, the first; one in an hour that is left out counts as if the clocks had not been
/// set. Without a zone it is refused.
[[nodiscard]] std::optional<Timestamp> parse_zoned(std::string_view text, std::span<const ZoneShift> zone);

}  // namespace brimwatch
