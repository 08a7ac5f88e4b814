#include "commands/papers/roff.h"

namespace brimwatch {

std::string roff(std::string_view text) {
  std::string out;
  bool bold = false, line_start = true;
  for (const char c : text) {
    if (line_start && (c == '.' || c == '\'')) out += "\\&";
    line_start = c == '\n';
    switch (c) {
      case '\\':
        out += "\\e";
        break;
      case '-':
        out += "\\-";
        break;
      case '`':
        bold = !bold;
        out += bold ? "\\fB" : "\\fR";
        break;
      default:
        out += c;
    }
  }
  return out;
}

std::string roff_bold(std::string_view text) { return "\\fB" + roff(text) + "\\fR"; }
std::string roff_italic(std::string_view text) { return "\\fI" + roff(text) + "\\fR"; }

std::string roff_term(std::string_view term, std::string_view explanation) {
  return std::string(".TP\n").append(term).append("\n").append(explanation).append("\n");
}

}  // namespace brimwatch
