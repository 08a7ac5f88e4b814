#pragma once
// Text that came from outside (a feed, a watch list, a server's reply) made fit to be shown, logged, mailed: valid UTF-8,
// one line, bounded, nothing in it that could steer a terminal, forge a header or turn the reading direction.
#include <cstddef>
#include <string>
#include <string_view>

namespace brimwatch {

/// Valid UTF-8: each ill-formed sequence becomes U+FFFD, one per maximal subpart (Unicode Standard, section 3.9).
[[nodiscard]] std::string clean_utf8(std::string_view text);

/// As clean_utf8, and on one line: control, line-separating, direction-changing and invisible characters become a blank
/// (several in a row one), blanks at the ends go, what is longer than `most` characters is cut and ends with "...".
[[nodiscard]] std::string clean_line(std::string_view text, std::size_t most = 200);

/// As clean_utf8; line ends stay, and every other character that is a blank or not seen becomes one blank, so that
/// columns keep their places. For a text of our own that may hold something from outside.
[[nodiscard]] std::string clean_lines(std::string_view text);

/// JSON with every character that is not seen as \uXXXX (in pairs past U+FFFF): the same values, but nothing that a
/// terminal obeys, also where it is no valid JSON.
[[nodiscard]] std::string escape_unseen(std::string_view json);

/// Characters (code points) of valid UTF-8.
[[nodiscard]] std::size_t length_of(std::string_view text);

/// Breaks at blanks so that no line is longer than `width` characters where words allow; the second line on begins with
/// `indent` blanks. The first line keeps its own blanks.
[[nodiscard]] std::string wrap(std::string_view text, std::size_t width, std::size_t indent);

/// For HTML, SVG and XML, in text and in quoted attributes: & < > " ' as references. Cleans nothing.
[[nodiscard]] std::string escape_markup(std::string_view text);

/// Appends `text` as a JSON string with its quotes (RFC 8259): clean UTF-8, control characters escaped.
void append_json_string(std::string& out, std::string_view text);

}  // namespace brimwatch
