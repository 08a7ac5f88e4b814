#pragma once
// The one way out to standard output and standard error, for a person at a terminal or a program at a pipe. Whatever a
// source, a peer, a file or its name has put into a text: nothing of it steers the terminal, hides itself or turns the
// reading direction. scripts/check-arrows sees to it that nothing else writes there; the log has its own such gate.
#include <cstdint>
#include <cstdio>
#include <string_view>

namespace brimwatch {

/// As printf, to standard output: line ends stay, every other character that is not seen becomes a blank (clean_lines).
void print_out(const char* form, ...) __attribute__((format(printf, 1, 2)));
/// The same to standard error.
void print_error(const char* form, ...) __attribute__((format(printf, 1, 2)));

/// A text of any length and number of lines. False when it could not be written.
bool write_text(std::FILE* out, std::string_view text);
/// JSON as it is, but that characters not seen are escaped (\u202e): to a program it says the same.
bool write_json(std::FILE* out, std::string_view json);

/// paper: black on white, whatever the terminal's own colours are.
enum class Style : std::uint8_t { plain, bold, dim, alert, warning, paper };
/// What follows looks so. Only where colour_wanted().
void set_style(std::FILE* out, Style style);
/// A person looks at a terminal that knows colours, and has not asked for none (NO_COLOR).
[[nodiscard]] bool colour_wanted(std::FILE* out);

void clear_line(std::FILE* out);    ///< the line the cursor stands on goes
void clear_screen(std::FILE* out);  ///< all of it; the cursor is at the top

}  // namespace brimwatch
