#pragma once
// A member's watches as the others see them: to say what differs between the lists. Pure.
#include <string>
#include <string_view>
#include <vector>

#include "core/watch_list.h"

namespace brimwatch {

/// One line a watch, "KLVN 48.35", sorted; of very long lists the first so many, and how many more there are.
[[nodiscard]] std::string watch_names_text(const WatchList& watches);
/// Sixteen digits that differ where the texts do.
[[nodiscard]] std::string short_hash(std::string_view text);

/// "only on home: KLVN 48.35, NIVO 27.60 and 3 more; only on cloud: ..."; empty: the same.
[[nodiscard]] std::string list_difference(std::string_view name, std::string_view list, std::string_view other_name,
                                          std::string_view other_list);
[[nodiscard]] std::string house_version();

}  // namespace brimwatch
