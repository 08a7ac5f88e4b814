// Reads a daily history: CSV, columns by name.
#include <algorithm>
#include <array>
#include <cctype>
#include <charconv>
#include <cmath>
#include <fstream>
#include <string_view>
#include <vector>

#include "core/csv_line.h"
#include "core/grouped_number.h"
#include "volume/history.h"

namespace brimwatch {
namespace {

constexpr std::size_t kMostRows = 200'000;  // eight hundred years of sessions
constexpr std::size_t kMostLine = 4'096;

std::string lower(std::string_view text) {
  std::string out(text);
  std::transform(out.begin(), out.end(), out.begin(), [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return out;
}

struct Columns {
  int date = -1, open = -1, high = -1, low = -1, close = -1, volume = -1;
  std::size_t width = 0;  ///< fields of the header
};

Columns columns_of(const CsvLine& names) {
  Columns columns;
  columns.width = names.width();
  for (int i = 0; i < static_cast<int>(names.size()); ++i) {
    const std::string name = lower(names.at(i));
    if (name == "date" || name == "datetime" || name == "day") columns.date = i;
    if (name == "open") columns.open = i;
    if (name == "high") columns.high = i;
    if (name == "low") columns.low = i;
    if (name == "close") columns.close = i;
    if (name == "volume") columns.volume = i;
  }
  return columns;
}

struct Place {
  const std::string& path;
  std::size_t line;
  /// The first byte of a field, or that of the problem of the line.
  [[nodiscard]] std::string of(const CsvLine& fields, std::size_t field) const {
    return path + ":" + std::to_string(line) + ":" + std::to_string(fields.column(field)) + ": ";
  }
  [[nodiscard]] std::string of(const CsvLine& fields, int field) const {
    return of(fields, static_cast<std::size_t>(field));
  }
};

Result<Columns> read_header(std::string_view line, const std::string& path) {
  if (line.starts_with("\xef\xbb\xbf")) line.remove_prefix(3);
  const char delimiter = delimiter_of(line);
  if (delimiter != ',') {
    return fail(path + ":1:1: header: found " + (delimiter == ';' ? "semicolons" : "tabs") +
                " between the columns, expected commas; the history was not loaded");
  }
  CsvLine names;
  if (!names.split(line)) {
    return fail(Place{path, 1}.of(names, names.size()) + "header: " + std::string(names.problem()) +
                "; the history was not loaded");
  }
  const Columns columns = columns_of(names);
  if (columns.date >= 0 && columns.volume >= 0) return columns;
  return fail(
      path + ":1:1: header: found \"" + std::string(line.substr(0, 80)) +
      "\", expected the columns date and volume (and open, high, low, close where known); the history was not loaded");
}

bool parse_number(std::string_view text, double& into) {
  const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), into);
  return problem == std::errc() && end == text.data() + text.size() && std::isfinite(into) && into >= 0;
}

struct Wanted {
  int column;
  const char* what;
  double DailyBar::*into;
  std::optional<std::string> (*ungrouped)(std::string_view);
};

Status read_number(const CsvLine& fields, const Wanted& wanted, const Place& place, DailyBar& bar) {
  if (wanted.column < 0) return {};
  const std::string_view text = fields.at(wanted.column);
  double& into = bar.*wanted.into;
  if (parse_number(text, into)) return {};
  if (const auto plain = wanted.ungrouped(text); plain && parse_number(*plain, into)) return {};
  return fail(place.of(fields, wanted.column) + wanted.what + ": found \"" + std::string(text.substr(0, 40)) +
              "\", expected a number that is not negative" + std::string(comma_hint(text)) +
              "; the history was not loaded");
}

Status cut_row(std::string_view line, const Columns& columns, const Place& place, CsvLine& fields) {
  if (!fields.split(line))
    return fail(place.of(fields, fields.size()) + std::string(fields.problem()) + "; the history was not loaded");
  if (fields.width() <= columns.width) return {};
  return fail(place.of(fields, columns.width) + "found " + std::to_string(fields.size()) +
              " fields, expected no more than the " + std::to_string(columns.width) +
              " of the header (a comma within a field needs quotes around it); the history was not loaded");
}

Result<DailyBar> read_row(const CsvLine& fields, const Columns& columns, const Place& place) {
  const std::string_view text = fields.at(columns.date);
  const auto day = parse_date(text.substr(0, 10));
  if (!day) {
    return fail(place.of(fields, columns.date) + "date: found \"" + std::string(text.substr(0, 40)) +
                "\", expected YYYY-MM-DD; the history was not loaded");
  }
  DailyBar bar;
  bar.day = *day;
  for (const Wanted& wanted : {Wanted{columns.volume, "volume", &DailyBar::volume, ungrouped_count},
                               {columns.open, "open", &DailyBar::open, ungrouped_price},
                               {columns.high, "high", &DailyBar::high, ungrouped_price},
                               {columns.low, "low", &DailyBar::low, ungrouped_price},
                               {columns.close, "close", &DailyBar::close, ungrouped_price}}) {
    if (Status status = read_number(fields, wanted, place, bar); !status) return tl::unexpected(status.error());
  }
  return bar;
}

Status sort_and_check(std::vector<DailyBar>& bars, const std::string& path) {
  std::stable_sort(bars.begin(), bars.end(), [](const DailyBar& a, const DailyBar& b) { return a.day < b.day; });
  const auto twice =
      std::adjacent_find(bars.begin(), bars.end(), [](const DailyBar& a, const DailyBar& b) { return a.day == b.day; });
  if (twice == bars.end()) return {};
  return fail(path + ": the day " + to_string(twice->day) +
              " is there twice; expected one row a day; the history was not loaded");
}

}  // namespace

Result<std::vector<DailyBar>> read_daily(const std::string& path) {
  std::ifstream file(path);
  std::string line;
  if (!file || !std::getline(file, line))
    return fail(path + ": cannot be read, or is empty; expected a CSV file with date and volume");
  const auto columns = read_header(line, path);
  if (!columns) return tl::unexpected(columns.error());
  CsvLine fields;
  std::vector<DailyBar> bars;
  for (std::size_t number = 2; std::getline(file, line); ++number) {
    if (line.empty() || line == "\r") continue;
    const Place place{path, number};
    if (line.size() > kMostLine || bars.size() >= kMostRows) {
      return fail(path + ":" + std::to_string(number) +
                  ":1: found a line longer than 4096 bytes, or more than 200000 rows; the history was not loaded");
    }
    if (Status status = cut_row(line, *columns, place, fields); !status) return tl::unexpected(status.error());
    auto bar = read_row(fields, *columns, place);
    if (!bar) return tl::unexpected(bar.error());
    bars.push_back(*bar);
  }
  if (Status status = sort_and_check(bars, path); !status) return tl::unexpected(status.error());
  return bars;
}

}  // namespace brimwatch
