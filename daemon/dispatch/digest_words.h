#pragma once
// The subject of a digest: what is in it, counted, the most pressing first. Pure.
#include <string>
#include <vector>

#include "core/notice.h"

namespace brimwatch {

/// "3 crossed (2 heavy), 1 fell under: KLVN, ORRI and 2 more"; of nothing but ends of days: "Day's end: 10 watches, 2
/// inside". At most kTitleMost characters.
[[nodiscard]] std::string digest_title(const std::vector<const NoticeRecord*>& notices);

}  // namespace brimwatch
