#pragma once
// The one way out to standard output and standard error, for a person at a terminal or a program at a pipe. Whatever a
// source, a peer, a file or its name has put into a text: nothing of it steers the terminal, hides itself or turns the
// reading direction. scripts/check-arrows sees to it that nothing else writes there; the log has its own such gate.
#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <string>
#include <string_view>

namespace brimwatch {

/// As printf, to standard output: line ends stay, every other character that is not seen becomes a blank (clean_lines),
/// and no line is longer than 80 columns: longer ones are broken at blanks and go on indented. What has no blank, as a
/// path, stays whole.
void print_out(const char* form, ...) __attribute__((format(printf, 1, 2)));
/// The same to standard error; broken only where a person sees it: in a file or a pipe a problem is one line.
void print_error(const char* form, ...) __attribute__((format(printf, 1, 2)));

/// A text of any length and number of lines, whole lines of it, as by print_out. False when it could not be written.
bool write_text(std::FILE* out, std::string_view text);
/// The same with its lines as they are: for what a program reads or a person copies into a file (TOML).
bool write_verbatim(std::FILE* out, std::string_view text);
/// JSON as it is, but that characters not seen are escaped (\u202e): to a program it says the same.
bool write_json(std::FILE* out, std::string_view json);

/// At a command's end: whether all that was written to `out` got out of our hands. A full disk behind `> FILE` is known
/// only then; whoever goes on with half a file must hear of it.
[[nodiscard]] bool all_written(std::FILE* out);

constexpr std::size_t kColumns = 80;
/// Each line of a text on its own, broken at blanks; what goes over is indented by `indent`, or as far as its line says
/// it (descriptions stand in a column of their own).
[[nodiscard]] std::string in_columns(std::string_view text, std::size_t (*indent)(std::string_view line));

/// paper: black on white, whatever the terminal's own colours are.
enum class Style : std::uint8_t { plain, bold, dim, alert, warning, paper };
/// What follows looks so. Only where colour_wanted().
void set_style(std::FILE* out, Style style);
/// A person looks at a terminal that knows colours, and has not asked for none (NO_COLOR).
[[nodiscard]] bool colour_wanted(std::FILE* out);

/// Lines of the terminal that `out` is, as it says itself, at least 10; 24 where it says nothing.
[[nodiscard]] std::size_t screen_rows(std::FILE* out);

void clear_line(std::FILE* out);    ///< the line the cursor stands on goes
void clear_screen(std::FILE* out);  ///< all of it; the cursor is at the top

}  // namespace brimwatch
