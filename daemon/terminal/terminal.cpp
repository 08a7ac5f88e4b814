#include "terminal/terminal.h"

#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <cstdarg>
#include <cstdlib>
#include <string>

#include "core/text/text.h"

namespace brimwatch {
namespace {

bool write_all(std::FILE* out, std::string_view bytes) {
  return std::fwrite(bytes.data(), 1, bytes.size(), out) == bytes.size();
}

std::string formed(const char* form, std::va_list values) {
  std::va_list again;
  va_copy(again, values);
  const int size = std::vsnprintf(nullptr, 0, form, values);
  std::string text(size > 0 ? static_cast<std::size_t>(size) : 0, '\0');
  if (size > 0) (void)std::vsnprintf(text.data(), text.size() + 1, form, again);
  va_end(again);
  return text;
}

/// A person at a terminal. What goes elsewhere from standard error keeps one line a problem: an editor and a script read
/// it so.
bool breaks_lines(std::FILE* out) { return out != stderr || ::isatty(::fileno(out)) == 1; }

/// Under the text of the second column, where there is one; else two blanks in from the first word.
std::size_t hanging(std::string_view line) {
  constexpr std::size_t kFarthest = 40;
  const std::size_t first = std::min(line.find_first_not_of(' '), line.size());
  const std::size_t gap = line.find("  ", first);
  const std::size_t text = gap == std::string_view::npos ? gap : line.find_first_not_of(' ', gap);
  return text == std::string_view::npos || text > kFarthest ? std::min(first + 2, kFarthest) : text;
}

const char* sequence_of(Style style) {
  switch (style) {
    case Style::plain:
      return "\x1b[0m";
    case Style::bold:
      return "\x1b[1m";
    case Style::dim:
      return "\x1b[2m";
    case Style::alert:
      return "\x1b[1;36m";
    case Style::warning:
      return "\x1b[1;33m";
    case Style::paper:
      return "\x1b[30;107m";
  }
  return "";
}

}  // namespace

void print_out(const char* form, ...) {
  std::va_list values;
  va_start(values, form);
  (void)write_text(stdout, formed(form, values));
  va_end(values);
}

void print_error(const char* form, ...) {
  std::va_list values;
  va_start(values, form);
  (void)write_text(stderr, formed(form, values));
  va_end(values);
}

std::string in_columns(std::string_view text, std::size_t (*indent)(std::string_view line)) {
  std::string out;
  for (std::size_t from = 0; from < text.size();) {
    const std::size_t end = std::min(text.find('\n', from), text.size());
    const std::string_view line = text.substr(from, end - from);
    out += length_of(line) > kColumns ? wrap(line, kColumns, indent(line)) : std::string(line);
    if (end < text.size()) out += '\n';
    from = end + 1;
  }
  return out;
}

bool write_text(std::FILE* out, std::string_view text) {
  const std::string clean = clean_lines(text);
  return write_all(out, breaks_lines(out) ? in_columns(clean, hanging) : clean);
}
bool all_written(std::FILE* out) { return std::fflush(out) == 0 && std::ferror(out) == 0; }

bool write_verbatim(std::FILE* out, std::string_view text) { return write_all(out, clean_lines(text)); }
bool write_json(std::FILE* out, std::string_view json) { return write_all(out, escape_unseen(json)); }
void set_style(std::FILE* out, Style style) { (void)write_all(out, sequence_of(style)); }

bool colour_wanted(std::FILE* out) {
  const char* const no_color = std::getenv("NO_COLOR");
  const char* const term = std::getenv("TERM");
  if (no_color != nullptr && *no_color != '\0') return false;
  return ::isatty(::fileno(out)) == 1 && term != nullptr && std::string_view(term) != "dumb";
}

std::size_t screen_rows(std::FILE* out) {
  constexpr std::size_t kUsual = 24, kLeast = 10;
  winsize size{};
  if (::ioctl(::fileno(out), TIOCGWINSZ, &size) != 0 || size.ws_row == 0) return kUsual;
  return std::max<std::size_t>(size.ws_row, kLeast);
}

void clear_line(std::FILE* out) { (void)write_all(out, "\r\x1b[K"); }
void clear_screen(std::FILE* out) { (void)write_all(out, "\x1b[H\x1b[2J"); }

}  // namespace brimwatch
