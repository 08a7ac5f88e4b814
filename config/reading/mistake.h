#pragma once
// What a person most likely meant by a line that is no TOML: said instead of the parser's own words. Pure.
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

namespace brimwatch {

struct Mistake {
  std::size_t at = 0;  ///< byte in the line where what is wrong begins
  std::string text;    ///< "found KLVN without quotes, expected \"KLVN\""
};

/// `line` without its end, `at` the byte where the parser stopped, `said` the parser's words. Empty where nothing better
/// than those is known.
[[nodiscard]] std::optional<Mistake> explain_mistake(std::string_view line, std::size_t at, std::string_view said);

/// Of quotes alone: curly ones, and one that is not closed.
[[nodiscard]] std::optional<Mistake> explain_quotes(std::string_view line, std::size_t at);

/// Of what is no plain letter outside of quotes: curly quotes, or a space that is none.
[[nodiscard]] std::optional<Mistake> explain_letter(std::string_view line, std::size_t at);

/// The same of a number or a day that stands in quotes or in a CSV file's cell: what is expected in its place.
[[nodiscard]] std::optional<std::string> meant_in_text(std::string_view text, bool is_day);

}  // namespace brimwatch
