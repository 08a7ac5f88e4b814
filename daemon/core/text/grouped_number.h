#pragma once
// Numbers as people write them, with commas between the thousands: 1,234,567. Read only where nothing else can be meant:
// much of the world writes 1,5 for one and a half, and a comma that is dropped there makes fifteen of it. Pure.
#include <optional>
#include <string>
#include <string_view>

namespace brimwatch {

/// The number without its commas, where they part groups of three: "1,234,567" and "-1,234.5", never "1,5", "12,34" or
/// "0,123". Empty for a text without a comma too. What it gives is not yet known to be a number that fits.
[[nodiscard]] std::optional<std::string> ungrouped_count(std::string_view text);

/// The same for a price, where a single comma may as well be a decimal one: "1,234" is refused, "1,234.00" is not.
[[nodiscard]] std::optional<std::string> ungrouped_price(std::string_view text);

/// Said after what was expected of a number that was refused; empty for one without a comma.
[[nodiscard]] std::string_view comma_hint(std::string_view text);

}  // namespace brimwatch
