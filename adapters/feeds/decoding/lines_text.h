#pragma once
// Text that is no JSON written anew as JSON, so that one decoder reads all: lines of values with a comma, semicolon, bar
// or tab between them, and tag=value pairs as in the FIX Protocol's tag-value encoding (fixtrading.org). Pure and total.
#include <string>
#include <string_view>

namespace brimwatch {

/// `encoding` "csv": each line a list of texts, quotes after RFC 4180 undone; one line is one list, several a list of
/// them. "tags": each line an object; pairs are parted by SOH, a bar or a semicolon; of a tag that comes twice the first
/// counts. Empty when all is well, else what is wrong: then `out` holds nothing of use.
[[nodiscard]] std::string_view json_of_lines(std::string_view text, std::string_view encoding, std::string& out);

/// One line of tag=value pairs as a JSON object; empty when it is none.
[[nodiscard]] std::string json_of_tags(std::string_view line);

}  // namespace brimwatch
