#include "adapters/feeds/decoding/lines_text.h"

#include <algorithm>
#include <vector>

#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr std::string_view kDividers = ",;|\t", kTagDividers = "\x01|;";

std::string_view without_end(std::string_view line) {
  while (!line.empty() && (line.back() == '\r' || line.back() == ' ')) line.remove_suffix(1);
  return line;
}

/// A quoted value, its doubled quotes made one; `at` goes behind it.
std::string quoted_value(std::string_view line, std::size_t& at) {
  std::string value;
  for (++at; at < line.size(); ++at) {
    if (line[at] != '"') value += line[at];
    else if (at + 1 < line.size() && line[at + 1] == '"') value += line[at++];
    else break;
  }
  at = std::min(at + 1, line.size());
  return value;
}

/// The first divider in a line is that of the line.
void add_csv_line(std::string_view line, std::string& out) {
  const std::size_t first = line.find_first_of(kDividers);
  const char divider = first == line.npos ? ',' : line[first];
  out += '[';
  for (std::size_t at = 0; at <= line.size(); ++at) {
    if (at > 0) out += ',';
    if (at < line.size() && line[at] == '"') {
      append_json_string(out, quoted_value(line, at));
      at = std::min(line.find(divider, at), line.size());
      continue;
    }
    const std::size_t end = std::min(line.find(divider, at), line.size());
    append_json_string(out, line.substr(at, end - at));
    at = end;
  }
  out += ']';
}

}  // namespace

std::string json_of_tags(std::string_view line) {
  std::string out = "{";
  std::vector<std::string_view> seen;
  line = without_end(line);
  while (!line.empty()) {
    const std::size_t end = line.find_first_of(kTagDividers);
    const std::string_view pair = line.substr(0, end);
    line = end == line.npos ? std::string_view() : line.substr(end + 1);
    if (pair.empty()) continue;
    const std::size_t equals = pair.find('=');
    if (equals == pair.npos || equals == 0) return {};
    const std::string_view tag = pair.substr(0, equals);
    if (std::find(seen.begin(), seen.end(), tag) != seen.end()) continue;
    seen.push_back(tag);
    if (out.size() > 1) out += ',';
    append_json_string(out, tag);
    out += ':';
    append_json_string(out, pair.substr(equals + 1));
  }
  return seen.empty() ? std::string() : out + "}";
}

std::string_view json_of_lines(std::string_view text, std::string_view encoding, std::string& out) {
  std::vector<std::string_view> lines;
  while (!text.empty()) {
    const std::size_t end = text.find('\n');
    if (const auto line = without_end(text.substr(0, end)); !line.empty()) lines.push_back(line);
    text = end == text.npos ? std::string_view() : text.substr(end + 1);
  }
  if (lines.size() != 1) out += '[';
  for (std::size_t i = 0; i < lines.size(); ++i) {
    if (i > 0) out += ',';
    if (encoding == "csv") {
      add_csv_line(lines[i], out);
      continue;
    }
    const std::string object = json_of_tags(lines[i]);
    if (object.empty()) return "a part without a '=' in a line of tag=value pairs";
    out += object;
  }
  if (lines.size() != 1) out += ']';
  return {};
}

}  // namespace brimwatch
