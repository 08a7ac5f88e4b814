#pragma once
// A price as a test writes it: "48.35".
#include <string_view>

#include "core/price.h"

namespace brimwatch::test {

inline Price price(std::string_view text) { return parse_price(text).value(); }

}  // namespace brimwatch::test
