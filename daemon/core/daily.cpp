#include "core/daily.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstring>

#include "core/csv_line.h"
#include "core/grouped_number.h"

namespace brimwatch {
namespace {

enum Column { kDate, kOpen, kHigh, kLow, kClose, kVolume, kSplit, kColumns };
constexpr std::array<const char*, kColumns> kNames = {"date", "open", "high", "low", "close", "volume", "split ratio"};
constexpr std::array<const char*, kColumns> kExpected = {"a day such as 2026-11-25",
                                                         "a price above zero such as 48.35",
                                                         "a price above zero such as 48.35",
                                                         "a price above zero such as 48.35",
                                                         "a price above zero such as 48.35",
                                                         "a number of shares such as 1234567",
                                                         "new shares for one old share such as 2 or 0.1"};

bool is_blank(std::string_view line) { return line.find_first_not_of(" \t\r") == std::string_view::npos; }

std::string lower(std::string_view text) {
  std::string out(text);
  for (char& c : out) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
  return out;
}

/// Cuts one line off the front of `rest`.
std::string_view take_line(std::string_view& rest) {
  const void* end = std::memchr(rest.data(), '\n', rest.size());
  const std::size_t size = end ? static_cast<std::size_t>(static_cast<const char*>(end) - rest.data()) : rest.size();
  const std::string_view line = rest.substr(0, size);
  rest.remove_prefix(end ? size + 1 : size);
  return line;
}

struct Layout {
  std::array<int, kColumns> at;
  std::size_t width = 0;  ///< fields of the header
  [[nodiscard]] bool has(Column column) const { return at[column] >= 0; }
  [[nodiscard]] bool has_any_price() const { return has(kOpen) || has(kHigh) || has(kLow) || has(kClose); }
  [[nodiscard]] bool has_all_prices() const { return has(kOpen) && has(kHigh) && has(kLow) && has(kClose); }
};

Column column_of(const std::string& name) {
  if (name == "datetime" || name == "day") return kDate;
  for (int i = 0; i < kColumns; ++i) {
    if (name == kNames[static_cast<std::size_t>(i)]) return static_cast<Column>(i);
  }
  return kColumns;
}

std::string place_of(std::string_view name, int line, std::size_t column) {
  return std::string(name) + ":" + std::to_string(line) + ":" + std::to_string(column) + ": ";
}

/// What is wrong with the header's separators and quotes; empty when nothing is.
std::string cut_header(std::string_view line, std::string_view name, CsvLine& fields) {
  const char delimiter = delimiter_of(line);
  if (delimiter != ',') {
    return place_of(name, 1, line.find(delimiter) + 1) + "found " + (delimiter == ';' ? "semicolons" : "tabs") +
           " between the columns, expected commas; the file was not used";
  }
  if (fields.split(line)) return {};
  return place_of(name, 1, fields.column(fields.size())) + std::string(fields.problem()) + "; the file was not used";
}

Result<Layout> read_header(std::string_view line, std::string_view name, DailyRows rows) {
  if (line.starts_with("\xEF\xBB\xBF")) line.remove_prefix(3);
  Layout layout;
  layout.at.fill(-1);
  CsvLine fields;
  if (std::string problem = cut_header(line, name, fields); !problem.empty()) return fail(std::move(problem));
  layout.width = fields.width();
  for (std::size_t i = 0; i < fields.size(); ++i) {
    const Column column = column_of(lower(fields[i]));
    if (column != kColumns && layout.at[column] < 0) layout.at[column] = static_cast<int>(i);
  }
  const bool all_prices = layout.has_any_price() && rows == DailyRows::readable;
  for (const Column column : {kDate, kOpen, kHigh, kLow, kClose, kVolume}) {
    if (layout.has(column) || (!all_prices && column != kDate && column != kVolume)) continue;
    return fail(
        std::string(name) + ":1:1: no column \"" + kNames[column] +
        "\"; the header must name date,open,high,low,close,volume (or date,volume) in any order; the file was not used");
  }
  return layout;
}

/// YYYY-MM-DD, with or without a time behind it, or YYYYMMDD.
std::optional<Date> read_day(std::string_view text) {
  if (text.size() > 10 && (text[10] == ' ' || text[10] == 'T')) text = text.substr(0, 10);
  if (text.size() == 8) {
    char dashed[11];
    std::snprintf(dashed, sizeof dashed, "%.4s-%.2s-%.2s", text.data(), text.data() + 4, text.data() + 6);
    return parse_date(dashed);
  }
  return parse_date(text);
}

std::optional<double> plain_number(std::string_view text) {
  if (const auto micros = parse_micros(text, Extra::drop)) return static_cast<double>(*micros) / 1e6;
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size() || !std::isfinite(value)) return std::nullopt;
  return value;
}

bool read_volume(std::string_view text, double& volume) {
  auto read = plain_number(text);
  if (!read) {
    const auto ungrouped = ungrouped_count(text);
    if (ungrouped) read = plain_number(*ungrouped);
  }
  volume = read.value_or(-1);
  return volume >= 0;
}

/// Into a price, not out as an optional: to copy that, four times a row, took as long as to read it.
bool read_price(std::string_view text, DailyRows rows, Price& price) {
  const auto micros = parse_micros(text, Extra::drop);
  if (micros) {
    price.micros = *micros;
  } else {
    const auto ungrouped = ungrouped_price(text);
    price = ungrouped ? parse_price(*ungrouped, Extra::drop).value_or(Price{-1}) : Price{-1};
  }
  if (price.micros < 0 || (price.micros == 0 && rows == DailyRows::readable)) return false;
  price = without_float_noise(price);
  return true;
}

/// Most rows have no split, in words of the file's own; "1,5" is one, which must not pass for none.
bool has_odd_split(std::string_view text) { return text.find(',') != std::string_view::npos; }

/// The column that could not be read, or kColumns when the row is whole.
Column read_row(const CsvLine& fields, const Layout& layout, DailyRows rows, DailyBar& bar) {
  const auto day = read_day(fields.at(layout.at[kDate]));
  if (!day) return kDate;
  bar.day = *day;
  const std::array<std::pair<Column, Price*>, 4> wanted = {
      {{kOpen, &bar.open}, {kHigh, &bar.high}, {kLow, &bar.low}, {kClose, &bar.close}}};
  for (const auto& [column, price] : wanted) {
    if (layout.has(column) && !read_price(fields.at(layout.at[column]), rows, *price)) return column;
  }
  if (!read_volume(fields.at(layout.at[kVolume]), bar.volume)) return kVolume;
  return has_odd_split(fields.at(layout.at[kSplit])) ? kSplit : kColumns;
}

/// Real files round the four prices apart; the bar must hold its own open and close.
bool mend(DailyBar& bar) {
  if (!bar.open.is_set() || !bar.high.is_set() || !bar.low.is_set() || !bar.close.is_set()) return false;
  const Price high = std::max({bar.high, bar.open, bar.close, bar.low});
  const Price low = std::min({bar.low, bar.open, bar.close, bar.high});
  const bool changed = high != bar.high || low != bar.low;
  bar.high = high;
  bar.low = low;
  return changed;
}

/// A row whose fields cannot be told apart, or are more than the header names: what belongs where nobody knows.
std::string shape_problem(std::string_view name, int line, const CsvLine& fields, std::size_t width) {
  if (!fields.problem().empty()) {
    return place_of(name, line, fields.column(fields.size())) + std::string(fields.problem());
  }
  return place_of(name, line, fields.column(width)) + "found " + std::to_string(fields.size()) +
         " fields, expected no more than the " + std::to_string(width) +
         " of the header (a comma within a field needs quotes around it)";
}

std::string problem_text(std::string_view name, int line, Column column, const CsvLine& fields, const Layout& layout) {
  const int at = layout.at[column];
  const std::string found(fields.at(at).substr(0, 40));
  return place_of(name, line, fields.column(static_cast<std::size_t>(at))) + kNames[column] + ": found \"" + found +
         "\", expected " + kExpected[column] + std::string(column == kDate ? "" : comma_hint(found));
}

Status refuse_twice(const DailySeries& series, std::string_view name) {
  const auto twice = std::adjacent_find(series.bars.begin(), series.bars.end(),
                                        [](const DailyBar& a, const DailyBar& b) { return a.day == b.day; });
  if (twice == series.bars.end()) return {};
  return fail(std::string(name) + ": the day " + to_string(twice->day) +
              " appears twice, expected one row a day; the file was not used");
}

void sort_by_day(std::vector<DailyBar>& bars) {
  const auto earlier = [](const DailyBar& a, const DailyBar& b) { return a.day < b.day; };
  if (bars.size() > 1 && bars.front().day > bars.back().day) std::reverse(bars.begin(), bars.end());
  if (!std::is_sorted(bars.begin(), bars.end(), earlier)) std::stable_sort(bars.begin(), bars.end(), earlier);
}

/// Of several rows for one day one stays, the others count as skipped.
void keep_each_day_once(DailySeries& series) {
  auto& bars = series.bars;
  std::size_t kept = 0;
  for (std::size_t i = 0; i < bars.size(); ++i) {
    if (kept > 0 && bars[kept - 1].day == bars[i].day) {
      bars[kept - 1] = bars[i];
      ++series.skipped;
    } else {
      bars[kept++] = bars[i];
    }
  }
  bars.resize(kept);
}

Status put_in_order(DailySeries& series, std::string_view name, DailyRows rows) {
  sort_by_day(series.bars);
  std::sort(series.splits.begin(), series.splits.end(), [](const SplitOn& a, const SplitOn& b) { return a.day < b.day; });
  if (rows == DailyRows::every) return refuse_twice(series, name);
  keep_each_day_once(series);
  return {};
}

void take_split(const CsvLine& fields, const Layout& layout, Date day, DailySeries& series) {
  if (!layout.has(kSplit)) return;
  const auto ratio = plain_number(fields.at(layout.at[kSplit]));
  if (ratio && *ratio > 0 && *ratio != 1) series.splits.push_back({day, *ratio});
}

/// What is wrong with a row; empty when it has been taken.
std::string take_row(std::string_view line, int number, std::string_view name, const Layout& layout, DailyRows rows,
                     CsvLine& fields, DailySeries& series) {
  if (!fields.split(line) || fields.width() > layout.width) return shape_problem(name, number, fields, layout.width);
  DailyBar bar;
  const Column bad = read_row(fields, layout, rows, bar);
  if (bad != kColumns) return problem_text(name, number, bad, fields, layout);
  if (mend(bar)) ++series.mended;
  take_split(fields, layout, bar.day, series);
  series.bars.push_back(bar);
  return {};
}

}  // namespace

Price without_float_noise(Price price) {
  constexpr std::int64_t kCent = 10'000;
  const std::int64_t cent = (price.micros + kCent / 2) / kCent * kCent;
  const std::int64_t off = price.micros > cent ? price.micros - cent : cent - price.micros;
  return off * 10'000'000 <= price.micros ? Price{cent} : price;
}

Result<DailySeries> parse_daily(std::string_view text, std::string symbol, std::string_view name, DailyRows rows) {
  const auto layout = read_header(take_line(text), name, rows);
  if (!layout) return tl::unexpected(layout.error());
  DailySeries series;
  series.symbol = std::move(symbol);
  series.has_prices = layout->has_all_prices();
  series.bars.reserve(text.size() / 48 + 1);
  CsvLine fields;
  for (int line_number = 2; !text.empty(); ++line_number) {
    const std::string_view line = take_line(text);
    if (is_blank(line)) continue;
    const std::string problem = take_row(line, line_number, name, *layout, rows, fields, series);
    if (problem.empty()) continue;
    if (rows == DailyRows::every) return fail(problem + "; the file was not used");
    if (series.skipped++ == 0) series.first_problem = problem + "; the row was left out";
  }
  if (series.bars.empty()) {
    return fail(series.skipped > 0 ? series.first_problem : std::string(name) + ":2:1: no rows; the file was not used");
  }
  if (Status status = put_in_order(series, name, rows); !status) return tl::unexpected(status.error());
  return series;
}

int last_bar_by(const std::vector<DailyBar>& bars, Date day) {
  const auto after =
      std::upper_bound(bars.begin(), bars.end(), day, [](Date d, const DailyBar& bar) { return d < bar.day; });
  return static_cast<int>(after - bars.begin()) - 1;
}

}  // namespace brimwatch
