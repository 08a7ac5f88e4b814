#pragma once
// Small checks and helpers on text from configuration files.
#include <cstddef>
#include <string>
#include <string_view>

namespace brimwatch {

/// Well-formed UTF-8: no overlong forms, no surrogates, nothing above U+10FFFF.
[[nodiscard]] bool is_utf8(std::string_view text);

/// UTF-16, by its mark or by what it makes of a file whose first letter is of English. Spreadsheets and some editors save
/// so.
[[nodiscard]] bool is_utf16(std::string_view text);

/// Characters, not bytes, of well-formed UTF-8.
[[nodiscard]] std::size_t characters(std::string_view text);

/// What is wrong with a text ("found 5000 bytes, expected at most 4096"); empty when nothing is. Control characters are
/// refused because such texts end in mails, logs and terminals; `many_lines` lets line ends and tabs pass.
[[nodiscard]] std::string text_problem(std::string_view text, std::size_t most_bytes, bool many_lines);

/// What is wrong with a symbol; empty when nothing is. At most 32 bytes; no spaces, control characters, quotes, commas or
/// slashes (a symbol names a file and stands in lists); no '.' or '#' in front.
[[nodiscard]] std::string symbol_problem(std::string_view text);

/// Relative to `directory`; "~/" is `home`; dots and double slashes taken out.
[[nodiscard]] std::string absolute_path(std::string_view path, const std::string& directory, const std::string& home);

}  // namespace brimwatch
