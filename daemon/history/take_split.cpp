#include "history/take_split.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "bars/daily_fields.h"
#include "core/shares.h"
#include "core/text/csv_line.h"
#include "core/watch.h"
#include "weekend/events.h"

namespace brimwatch {
namespace {

/// Where a number stands in a line: [from, to).
struct NumberAt {
  std::size_t from = 0, to = 0;
  [[nodiscard]] bool is_there() const { return to > from; }
};

bool is_of_number(char c) { return (c >= '0' && c <= '9') || c == '.' || c == '_'; }

NumberAt number_after(std::string_view line, std::size_t from) {
  while (from < line.size() && !is_of_number(line[from])) ++from;
  std::size_t to = from;
  while (to < line.size() && is_of_number(line[to])) ++to;
  return {from, to};
}

std::vector<std::string> lines_of(std::string_view text) {
  std::vector<std::string> out;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    out.emplace_back(text.substr(0, std::min(end + 1, text.size())));
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return out;
}

std::string without_lines(std::string_view number) {
  std::string out;
  for (const char c : number)
    if (c != '_') out += c;
  return out;
}

/// One step of the price at what the pivot becomes.
Price tick_after(const Watch& watch, double ratio) { return tick_at(watch.rules, in_terms(watch.pivot, 1 / ratio, {})); }

/// The number at that place as a price in new terms.
bool put_price(std::string& line, const NumberAt& at, double ratio, Price tick) {
  const auto price =
      at.is_there() ? parse_price(without_lines(std::string_view(line).substr(at.from, at.to - at.from))) : std::nullopt;
  if (!price) return false;
  line.replace(at.from, at.to - at.from, to_string(in_terms(*price, 1 / ratio, tick)));
  return true;
}

/// `normal_volume = 1_300_000` or "1.3M": shares, which a split multiplies.
void put_volume(std::string& line, double ratio) {
  const std::size_t equals = line.find('=');
  const std::size_t comment = std::min(line.find('#'), line.size());
  if (equals == std::string::npos || equals > comment) return;
  std::size_t from = line.find_first_not_of(" \t\"'", equals + 1);
  if (from == std::string::npos) return;
  std::size_t to = from;
  while (to < line.size() && (is_of_number(line[to]) || std::isalpha(static_cast<unsigned char>(line[to])) != 0)) ++to;
  const auto shares = parse_brief_shares(std::string_view(line).substr(from, to - from));
  if (!shares) return;
  if (from > 0 && (line[from - 1] == '"' || line[from - 1] == '\'')) --from, ++to;
  line.replace(from, to - from, std::to_string(std::llround(shares->as_double() * ratio)));
}

bool begins_with_key(std::string_view line, std::string_view key) {
  const std::size_t from = line.find_first_not_of(" \t");
  if (from == std::string_view::npos || !line.substr(from).starts_with(key)) return false;
  const std::size_t after = line.find_first_not_of(" \t", from + key.size());
  return after != std::string_view::npos && line[after] == '=';
}

bool begins_table(std::string_view line) {
  const std::size_t from = line.find_first_not_of(" \t");
  return from != std::string_view::npos && line[from] == '[';
}

/// The normal volume of the table round that line.
void put_volume_near(std::vector<std::string>& lines, std::size_t at, double ratio) {
  std::size_t from = at;
  while (from > 0 && !begins_table(lines[from])) --from;
  for (std::size_t i = from + 1; i < lines.size() && !begins_table(lines[i]); ++i)
    if (begins_with_key(lines[i], "normal_volume")) put_volume(lines[i], ratio);
}

bool is_csv(const std::string& file) { return file.ends_with(".csv"); }

/// The cell of the column `normal_volume`, where the list has one.
void put_volume_in_row(const std::vector<std::string>& lines, std::string& row, double ratio) {
  const auto header = std::find_if(lines.begin(), lines.end(), [](const std::string& line) {
    return line.find_first_not_of(" \t\r\n") != std::string::npos && line.front() != '#';
  });
  CsvLine names, cells;
  if (header == lines.end() || !names.split(*header) || !cells.split(row)) return;
  for (std::size_t i = 0; i < std::min(names.size(), cells.size()); ++i) {
    if (names[i].substr(0, 13) != "normal_volume") continue;
    const auto shares = parse_brief_shares(cells[i]);
    if (!shares) return;
    const std::size_t from = cells.column(i) - 1;
    const std::size_t start = row.find(cells[i], from);
    row.replace(start, cells[i].size(), std::to_string(std::llround(shares->as_double() * ratio)));
    return;
  }
}

}  // namespace

std::vector<SplitWatch> watches_after_split(const Settings& settings, std::string_view symbol, double ratio) {
  std::vector<SplitWatch> out;
  for (std::size_t i = 0; i < settings.watches.size(); ++i) {
    const Watch watch = settings.watches[i];
    if (watch.symbol == symbol) out.push_back(after_split(watch.pivot, watch.rules, ratio));
  }
  return out;
}

std::string in_words(const std::vector<SplitWatch>& watches) {
  std::string out;
  for (const SplitWatch& one : watches) out += (out.empty() ? "" : "; ") + in_words(one);
  return out;
}

std::optional<double> parse_split_ratio(std::string_view text) {
  const auto ratio = read_split(text);
  return ratio && *ratio >= 0.001 && *ratio <= 1000 ? ratio : std::nullopt;
}

Result<std::string> with_split(std::string_view text, const Settings& settings, std::uint16_t file,
                               std::string_view symbol, double ratio) {
  std::vector<std::string> lines = lines_of(text);
  const std::string& name = settings.files[file];
  for (std::size_t i = 0; i < settings.watches.size(); ++i) {
    const Watch watch = settings.watches[i];
    if (watch.symbol != symbol || watch.file != file) continue;
    const std::size_t at = watch.line - 1, column = watch.column > 0 ? watch.column - 1 : 0;
    const auto misplaced = [&] {
      return fail(name + ":" + std::to_string(watch.line) + ":" + std::to_string(watch.column) +
                  ": found no price there any more; the list was not changed");
    };
    if (watch.line == 0 || at >= lines.size()) return misplaced();
    if (!put_price(lines[at], number_after(lines[at], column), ratio, tick_after(watch, ratio))) return misplaced();
    if (is_csv(name)) put_volume_in_row(lines, lines[at], ratio);
    else put_volume_near(lines, at, ratio);
  }
  std::string out;
  for (const std::string& line : lines) out += line;
  return out;
}

}  // namespace brimwatch
