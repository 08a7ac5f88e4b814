// Reads a daily history: CSV, columns by name.
#include <algorithm>
#include <array>
#include <cctype>
#include <charconv>
#include <cmath>
#include <fstream>
#include <string_view>
#include <vector>

#include "volume/history.h"

namespace brimwatch {
namespace {

constexpr std::size_t kMostRows = 200'000;  // eight hundred years of sessions
constexpr std::size_t kMostLine = 4'096;

std::vector<std::string_view> split(std::string_view line) {
  std::vector<std::string_view> fields;
  if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
  for (;;) {
    const std::size_t comma = line.find(',');
    std::string_view field = line.substr(0, comma);
    while (!field.empty() && (field.front() == ' ' || field.front() == '"')) field.remove_prefix(1);
    while (!field.empty() && (field.back() == ' ' || field.back() == '"')) field.remove_suffix(1);
    fields.push_back(field);
    if (comma == std::string_view::npos) return fields;
    line.remove_prefix(comma + 1);
  }
}

std::string lower(std::string_view text) {
  std::string out(text);
  std::transform(out.begin(), out.end(), out.begin(), [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return out;
}

struct Columns {
  int date = -1, open = -1, high = -1, low = -1, close = -1, volume = -1;
};

Columns columns_of(std::string_view header) {
  Columns columns;
  if (header.substr(0, 3) == "\xef\xbb\xbf") header.remove_prefix(3);
  const auto names = split(header);
  for (int i = 0; i < static_cast<int>(names.size()); ++i) {
    const std::string name = lower(names[static_cast<std::size_t>(i)]);
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
  [[nodiscard]] std::string at(int column) const {
    return path + ":" + std::to_string(line) + ":" + std::to_string(column + 1) + ": ";
  }
};

Status read_number(const std::vector<std::string_view>& fields, int column, const char* what, const Place& place,
                   double& into) {
  if (column < 0) return {};
  const std::string_view text =
      static_cast<std::size_t>(column) < fields.size() ? fields[static_cast<std::size_t>(column)] : "";
  const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), into);
  if (problem == std::errc() && end == text.data() + text.size() && std::isfinite(into) && into >= 0) return {};
  return fail(place.at(column) + what + ": found \"" + std::string(text.substr(0, 40)) +
              "\", expected a number that is not negative; the history was not loaded");
}

Result<DailyBar> read_row(std::string_view line, const Columns& columns, const Place& place) {
  const auto fields = split(line);
  const std::string_view text =
      static_cast<std::size_t>(columns.date) < fields.size() ? fields[static_cast<std::size_t>(columns.date)] : "";
  const auto day = parse_date(text.substr(0, 10));
  if (!day) {
    return fail(place.at(columns.date) + "date: found \"" + std::string(text.substr(0, 40)) +
                "\", expected YYYY-MM-DD; the history was not loaded");
  }
  DailyBar bar;
  bar.day = *day;
  Status status = read_number(fields, columns.volume, "volume", place, bar.volume);
  if (status) status = read_number(fields, columns.open, "open", place, bar.open);
  if (status) status = read_number(fields, columns.high, "high", place, bar.high);
  if (status) status = read_number(fields, columns.low, "low", place, bar.low);
  if (status) status = read_number(fields, columns.close, "close", place, bar.close);
  if (!status) return tl::unexpected(status.error());
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
  const Columns columns = columns_of(line);
  if (columns.date < 0 || columns.volume < 0) {
    return fail(
        path + ":1:1: header: found \"" + line.substr(0, 80) +
        "\", expected the columns date and volume (and open, high, low, close where known); the history was not loaded");
  }
  std::vector<DailyBar> bars;
  for (std::size_t number = 2; std::getline(file, line); ++number) {
    if (line.empty() || line == "\r") continue;
    const Place place{path, number};
    if (line.size() > kMostLine || bars.size() >= kMostRows) {
      return fail(place.at(0) +
                  "found a line longer than 4096 bytes, or more than 200000 rows; the history was not loaded");
    }
    auto bar = read_row(line, columns, place);
    if (!bar) return tl::unexpected(bar.error());
    bars.push_back(*bar);
  }
  if (Status status = sort_and_check(bars, path); !status) return tl::unexpected(status.error());
  return bars;
}

}  // namespace brimwatch
