#include "weekend/old_list.h"

#include <toml++/toml.h>

#include <algorithm>

#include "core/text/text.h"
#include "core/text/toml_guard.h"
#include "weekend/list.h"

namespace brimwatch {
namespace {

std::vector<std::string> lines_of(std::string_view text) {
  std::vector<std::string> out;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    std::string_view line = text.substr(0, end);
    if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
    out.emplace_back(line);
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return out;
}

std::string_view trimmed(std::string_view line) {
  while (!line.empty() && (line.front() == ' ' || line.front() == '\t')) line.remove_prefix(1);
  while (!line.empty() && (line.back() == ' ' || line.back() == '\t')) line.remove_suffix(1);
  return line;
}

bool is_ours(std::string_view line) { return trimmed(line).starts_with(kOurComment); }
bool is_comment_or_blank(std::string_view line) {
  return trimmed(line).empty() || (trimmed(line).front() == '#' && !is_ours(line));
}
bool is_header(std::string_view line) { return trimmed(line).starts_with("["); }

/// Length of the value at the front of `text`: a quoted string or all up to a comment.
std::size_t value_length(std::string_view text) {
  if (text.empty()) return 0;
  const char quote = text.front();
  if (quote == '"' || quote == '\'') {
    for (std::size_t i = 1; i < text.size(); ++i) {
      if (text[i] == '\\' && quote == '"') {
        ++i;
      } else if (text[i] == quote) {
        return i + 1;
      }
    }
    return text.size();
  }
  return trimmed(text.substr(0, text.find('#'))).size();
}

/// Where the value of `key` begins in `line`; npos when the line does not set that key.
std::size_t value_at(std::string_view line, std::string_view key) {
  const std::string_view body = trimmed(line);
  if (!body.starts_with(key)) return std::string_view::npos;
  std::string_view rest = trimmed(body.substr(key.size()));
  if (!rest.starts_with("=")) return std::string_view::npos;
  rest = trimmed(rest.substr(1));
  return static_cast<std::size_t>(rest.data() - line.data());
}

std::string where(const toml::node& node, std::string_view name) {
  return std::string(name) + ":" + std::to_string(node.source().begin.line) + ":" +
         std::to_string(node.source().begin.column) + ": ";
}

std::optional<Date> date_of(const toml::table& table, std::string_view key) {
  if (const auto date = table[key].value<toml::date>()) return Date::of(date->year, date->month, date->day);
  const auto text = table[key].value<std::string>();
  return text ? parse_date(*text) : std::nullopt;
}

/// The price as it is written, not as a double.
std::optional<Price> price_of(const OldWatch& watch, std::string_view key) {
  for (const std::string& line : watch.lines) {
    const std::size_t at = value_at(line, key);
    if (at == std::string::npos) continue;
    std::string text = line.substr(at, value_length(std::string_view(line).substr(at)));
    std::erase_if(text, [](char c) { return c == '_' || c == '"' || c == '\''; });
    return parse_price(text);
  }
  return std::nullopt;
}

constexpr std::string_view kTerms = " in the terms of ";

/// Our comments say "... as of 2026-11-20; ...", "floor 41.20 ..." and "... in the terms of 2026-11-27, ...".
void read_our_comments(OldWatch& watch) {
  for (const std::string& line : watch.lines) {
    if (!is_ours(line)) continue;
    if (const auto at = line.find(" as of "); at != std::string::npos && !watch.as_of)
      watch.as_of = parse_date(line.substr(at + 7, 10));
    if (const auto at = line.find(kTerms); at != std::string::npos)
      watch.terms = parse_date(line.substr(at + kTerms.size(), 10));
    if (const auto at = line.find("floor "); at != std::string::npos) {
      watch.floor = parse_price(line.substr(at + 6, line.find(' ', at + 6) - at - 6));
    }
  }
}

Status fill(OldWatch& watch, const toml::table& table, std::string_view name, Price offset) {
  watch.symbol = table["symbol"].value_or(std::string());
  watch.note = table["note"].value_or(std::string());
  watch.from = date_of(table, "from");
  watch.until = date_of(table, "until");
  watch.normal_volume = table["normal_volume"].value<double>();
  const auto pivot = price_of(watch, "pivot"), peak = price_of(watch, "peak");
  watch.by_peak = !pivot && peak.has_value();
  if (watch.symbol.empty() || (!pivot && !peak)) {
    return fail(where(table, name) +
                "a watch needs symbol and pivot (or peak), one key a line; the list was not carried");
  }
  watch.pivot = pivot ? *pivot : Price{peak->micros + offset.micros};
  read_our_comments(watch);
  return {};
}

/// Lines of the text that begin a table at the top level.
std::vector<std::size_t> header_lines(const std::vector<std::string>& lines) {
  std::vector<std::size_t> out;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    if (is_header(lines[i])) out.push_back(i);
  }
  return out;
}

}  // namespace

void OldWatch::set(std::string_view key, const std::string& value) {
  for (std::string& line : lines) {
    const std::size_t at = value_at(line, key);
    if (at == std::string::npos) continue;
    line.replace(at, value_length(std::string_view(line).substr(at)), value);
    return;
  }
  const auto symbol_line = std::find_if(
      lines.begin(), lines.end(), [](const std::string& line) { return value_at(line, "symbol") != std::string::npos; });
  std::string added(key);
  added.append(" = ").append(value);
  lines.insert(symbol_line == lines.end() ? lines.end() : symbol_line + 1, added);
}

void OldWatch::drop_our_comments() { std::erase_if(lines, is_ours); }

void OldWatch::put_terms(Date day, const std::string& splits) {
  std::erase_if(lines, [](const std::string& line) { return is_ours(line) && line.find(kTerms) != std::string::npos; });
  std::string comment(kOurComment);
  comment.append(" pivot").append(kTerms).append(to_string(day)).append(", after the ").append(splits);
  const auto last = std::find_if(lines.rbegin(), lines.rend(), [](const auto& line) { return !trimmed(line).empty(); });
  lines.insert(last.base(), comment);
}

std::string OldWatch::text() const {
  std::string out;
  for (const std::string& line : lines) out.append(line).append("\n");
  return out;
}

Result<OldList> read_old_list(std::string_view text, std::string_view name, Price offset) {
  if (const auto trouble = toml_trouble(text)) {
    return fail(std::string(name) + ":" + std::to_string(trouble->line) + ":" + std::to_string(trouble->column) + ": " +
                std::string(trouble->text) + "; the list was not carried");
  }
  toml::table root;
  try {
    root = toml::parse(text, name);
  } catch (const toml::parse_error& problem) {
    return fail(std::string(name) + ":" + std::to_string(problem.source().begin.line) + ":" +
                std::to_string(problem.source().begin.column) + ": " + clean_line(problem.description()) +
                "; the list was not carried");
  }
  const auto lines = lines_of(text);
  const auto headers = header_lines(lines);
  OldList out;
  std::vector<std::string> lead;  // comments above a header belong to what it heads
  for (std::size_t h = 0; h <= headers.size(); ++h) {
    const std::size_t from = h == 0 ? 0 : headers[h - 1], to = h < headers.size() ? headers[h] : lines.size();
    std::size_t end = to;
    if (h < headers.size()) {
      while (end > from && is_comment_or_blank(lines[end - 1])) --end;
    }
    std::vector<std::string> block = std::move(lead);
    block.insert(block.end(), lines.begin() + static_cast<std::ptrdiff_t>(from),
                 lines.begin() + static_cast<std::ptrdiff_t>(end));
    lead.assign(lines.begin() + static_cast<std::ptrdiff_t>(end), lines.begin() + static_cast<std::ptrdiff_t>(to));
    if (h == 0) {
      out.head = std::move(block);
      std::erase_if(out.head, is_ours);
    } else if (trimmed(lines[from]).starts_with("[[watch]]")) {
      OldWatch watch;
      watch.lines = std::move(block);
      out.watches.push_back(std::move(watch));
    } else {
      out.tail.insert(out.tail.end(), block.begin(), block.end());
    }
  }
  const toml::array* watches = root["watch"].as_array();
  if ((watches ? watches->size() : 0) != out.watches.size()) {
    return fail(std::string(name) +
                ":1:1: watches must be written as [[watch]] tables to be carried; nothing was changed");
  }
  for (std::size_t i = 0; i < out.watches.size(); ++i) {
    const toml::table* table = watches->get(i)->as_table();
    if (auto done = fill(out.watches[i], *table, name, offset); !done) return tl::unexpected(done.error());
  }
  return out;
}

std::string user_part(std::string_view note) {
  std::string out(note);
  const std::size_t open = out.find('['), close = out.find(']', open == std::string::npos ? 0 : open);
  if (open != std::string::npos && close != std::string::npos) out.erase(open, close - open + 1);
  return std::string(trimmed(out));
}

std::string our_part(std::string_view note) {
  const std::size_t open = note.find('['), close = note.find(']', open == std::string_view::npos ? 0 : open);
  if (open == std::string_view::npos || close == std::string_view::npos) return {};
  return std::string(note.substr(open + 1, close - open - 1));
}

}  // namespace brimwatch
