#include "commands/help_text.h"

#include <algorithm>

#include "config/text.h"

namespace brimwatch {
namespace {

constexpr std::string_view kUsage = "Usage: ";

/// Where the lines go on that follow the first: "  --json      Print JSON" under "Print", "Usage: brimwatch" under its
/// name.
std::size_t hang_of(std::string_view line) {
  if (line.starts_with(kUsage)) return kUsage.size();
  const std::size_t first = std::min(line.find_first_not_of(' '), line.size());
  const std::size_t gap = line.find("  ", first);
  if (first != 2 || gap == std::string_view::npos) return first;
  return std::min(line.find_first_not_of(' ', gap), line.size());
}

void append_fitted(std::string& out, std::string_view line, std::size_t width) {
  const std::size_t hang = hang_of(line);
  for (std::size_t margin = 0; characters(line) + margin > width; margin = hang) {
    const std::size_t from = margin == 0 ? hang : 0;  // never in the name, or in what stands before it
    std::size_t cut = line.rfind(' ', std::min(width - margin, line.size()));
    if (cut == std::string_view::npos || cut <= from) cut = line.find(' ', from + 1);
    if (cut == std::string_view::npos) break;
    out.append(line.substr(0, line.find_last_not_of(' ', cut) + 1)).append("\n").append(hang, ' ');
    line.remove_prefix(cut + 1);
  }
  out.append(line).append("\n");
}

}  // namespace

std::string fitted_help(std::string_view help, std::size_t width) {
  std::string out;
  while (!help.empty()) {
    const std::size_t end = std::min(help.find('\n'), help.size());
    append_fitted(out, help.substr(0, end), width);
    help.remove_prefix(std::min(end + 1, help.size()));
  }
  return out;
}

}  // namespace brimwatch
