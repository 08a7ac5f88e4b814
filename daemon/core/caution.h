#pragma once
// The one caution of the program, in the words that mail, page and terminal share.
#include <string_view>

namespace brimwatch {

constexpr std::string_view kCaution =
    "Information, not advice. Data may be late or wrong: verify with your broker before you act.";

}  // namespace brimwatch
