#include "core/daily.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cstring>

namespace brimwatch {
namespace {

enum Column { kDate, kOpen, kHigh, kLow, kClose, kVolume, kSplit, kColumns };
constexpr std::array<const char*, kColumns> kNames = {"date", "open", "high", "low", "close", "volume", "split ratio"};
constexpr int kMostFields = 32;

using Fields = std::array<std::string_view, kMostFields>;

std::string_view trim(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '"')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '"' || text.back() == '\r')) text.remove_suffix(1);
  return text;
}

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

int split_fields(std::string_view line, Fields& fields) {
  int count = 0;
  std::size_t from = 0;
  for (std::size_t i = 0; i <= line.size() && count < kMostFields; ++i) {
    if (i < line.size() && line[i] != ',') continue;
    fields[static_cast<std::size_t>(count++)] = trim(line.substr(from, i - from));
    from = i + 1;
  }
  return count;
}

struct Layout {
  std::array<int, kColumns> at;
  [[nodiscard]] bool has(Column column) const { return at[column] >= 0; }
};

Column column_of(const std::string& name) {
  if (name == "datetime" || name == "day") return kDate;
  for (int i = 0; i < kColumns; ++i) {
    if (name == kNames[static_cast<std::size_t>(i)]) return static_cast<Column>(i);
  }
  return kColumns;
}

Result<Layout> read_header(std::string_view line, std::string_view name) {
  if (line.starts_with("\xEF\xBB\xBF")) line.remove_prefix(3);
  Layout layout;
  layout.at.fill(-1);
  Fields fields;
  const int count = split_fields(line, fields);
  for (int i = 0; i < count; ++i) {
    const Column column = column_of(lower(fields[static_cast<std::size_t>(i)]));
    if (column != kColumns && layout.at[column] < 0) layout.at[column] = i;
  }
  const bool prices = layout.has(kOpen) || layout.has(kHigh) || layout.has(kLow) || layout.has(kClose);
  for (const Column column : {kDate, kOpen, kHigh, kLow, kClose, kVolume}) {
    if (layout.has(column) || (!prices && column != kDate && column != kVolume)) continue;
    return fail(std::string(name) + ":1:1: no column \"" + kNames[column] +
                "\"; the header must name date,open,high,low,close,volume (or date,volume) in any order; file not used");
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

std::optional<double> read_number(std::string_view text) {
  if (const auto micros = parse_micros(text, Extra::drop)) return static_cast<double>(*micros) / 1e6;
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size() || value != value) return std::nullopt;
  return value;
}

/// The column that could not be read, or kColumns when the row is whole.
Column read_row(const Fields& fields, int count, const Layout& layout, bool prices, DayBar& bar) {
  const auto field = [&](Column column) {
    const int at = layout.at[column];
    return at >= 0 && at < count ? fields[static_cast<std::size_t>(at)] : std::string_view();
  };
  const auto day = read_day(field(kDate));
  if (!day) return kDate;
  bar.day = *day;
  if (prices) {
    const std::array<std::pair<Column, Price*>, 4> wanted = {
        {{kOpen, &bar.open}, {kHigh, &bar.high}, {kLow, &bar.low}, {kClose, &bar.close}}};
    for (const auto& [column, price] : wanted) {
      const auto read = parse_price(field(column), Extra::drop);
      if (!read || read->micros <= 0) return column;
      *price = without_float_noise(*read);
    }
  }
  const auto volume = read_number(field(kVolume));
  if (!volume || *volume < 0) return kVolume;
  bar.volume = *volume;
  return kColumns;
}

/// Real files round the four prices apart; the bar must hold its own open and close.
bool mend(DayBar& bar) {
  const Price high = std::max({bar.high, bar.open, bar.close, bar.low});
  const Price low = std::min({bar.low, bar.open, bar.close, bar.high});
  const bool changed = high != bar.high || low != bar.low;
  bar.high = high;
  bar.low = low;
  return changed;
}

std::string problem_text(std::string_view name, int line, Column column, const Fields& fields, int count,
                         const Layout& layout) {
  const int at = layout.at[column];
  const std::string_view found = at < count ? fields[static_cast<std::size_t>(at)] : std::string_view();
  std::ptrdiff_t place = 1;
  if (at < count) place = found.data() - fields[0].data() + 1;
  return std::string(name) + ":" + std::to_string(line) + ":" + std::to_string(place) + ": " + kNames[column] +
         ": found \"" + std::string(found) + "\", expected " +
         (column == kDate ? "a day such as 2026-11-25" : "a number above zero such as 48.35") + "; the row was left out";
}

/// Ascending, each day once: of several rows for one day one stays, the others count as skipped.
void put_in_order(DailySeries& series) {
  auto& bars = series.bars;
  const auto earlier = [](const DayBar& a, const DayBar& b) { return a.day < b.day; };
  if (bars.size() > 1 && bars.front().day > bars.back().day) std::reverse(bars.begin(), bars.end());
  if (!std::is_sorted(bars.begin(), bars.end(), earlier)) std::stable_sort(bars.begin(), bars.end(), earlier);
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
  std::sort(series.splits.begin(), series.splits.end(), [](const SplitOn& a, const SplitOn& b) { return a.day < b.day; });
}

void take_split(const Fields& fields, int count, const Layout& layout, Date day, DailySeries& series) {
  const int at = layout.at[kSplit];
  if (at < 0 || at >= count) return;
  const auto ratio = read_number(fields[static_cast<std::size_t>(at)]);
  if (ratio && *ratio > 0 && *ratio != 1) series.splits.push_back({day, *ratio});
}

}  // namespace

Price without_float_noise(Price price) {
  constexpr std::int64_t kCent = 10'000;
  const std::int64_t cent = (price.micros + kCent / 2) / kCent * kCent;
  const std::int64_t off = price.micros > cent ? price.micros - cent : cent - price.micros;
  return off * 10'000'000 <= price.micros ? Price{cent} : price;
}

Result<DailySeries> parse_daily(std::string_view text, std::string symbol, std::string_view name) {
  const auto layout = read_header(take_line(text), name);
  if (!layout) return tl::unexpected(layout.error());
  DailySeries series;
  series.symbol = std::move(symbol);
  series.has_prices = layout->has(kClose);
  series.bars.reserve(text.size() / 48 + 1);
  Fields fields;
  for (int line_number = 2; !text.empty(); ++line_number) {
    const std::string_view line = take_line(text);
    if (trim(line).empty()) continue;
    const int count = split_fields(line, fields);
    DayBar bar;
    const Column bad = read_row(fields, count, *layout, series.has_prices, bar);
    if (bad != kColumns) {
      if (series.skipped++ == 0) series.first_problem = problem_text(name, line_number, bad, fields, count, *layout);
      continue;
    }
    if (series.has_prices && mend(bar)) ++series.mended;
    take_split(fields, count, *layout, bar.day, series);
    series.bars.push_back(bar);
  }
  if (series.bars.empty()) {
    return fail(series.skipped > 0 ? series.first_problem : std::string(name) + ":2:1: no rows; file not used");
  }
  put_in_order(series);
  return series;
}

int last_bar_by(const std::vector<DayBar>& bars, Date day) {
  const auto after =
      std::upper_bound(bars.begin(), bars.end(), day, [](Date d, const DayBar& bar) { return d < bar.day; });
  return static_cast<int>(after - bars.begin()) - 1;
}

}  // namespace brimwatch
