#include "weekend/events.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "core/text/csv_line.h"

namespace brimwatch {
namespace {

struct Cell {
  std::string text;
  int line = 0, column = 0;
};

struct Table {
  std::vector<std::string> names;
  std::vector<std::vector<Cell>> rows;

  [[nodiscard]] int at(std::string_view name) const {
    const auto found = std::find(names.begin(), names.end(), name);
    return found == names.end() ? -1 : static_cast<int>(found - names.begin());
  }
};

std::string place_of(std::string_view name, int line, std::size_t column) {
  return std::string(name) + ":" + std::to_string(line) + ":" + std::to_string(column) + ": ";
}

std::string bad(std::string_view name, const Cell& cell, const char* what, const char* expected) {
  return place_of(name, cell.line, static_cast<std::size_t>(cell.column)) + what + ": found \"" + cell.text +
         "\", expected " + expected + "; the file was not used";
}

/// The first line that is no comment names the columns.
Status take_line(Table& table, const CsvLine& fields, int number, std::string_view name) {
  if (table.names.empty()) {
    for (const std::string_view field : fields) {
      std::string& lower = table.names.emplace_back(field);
      for (char& c : lower) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
    }
    return {};
  }
  if (fields.width() > table.names.size())
    return fail(place_of(name, number, fields.column(table.names.size())) + "found " + std::to_string(fields.width()) +
                " fields, expected the " + std::to_string(table.names.size()) + " of the header; the file was not used");
  std::vector<Cell>& row = table.rows.emplace_back();
  for (std::size_t i = 0; i < fields.size(); ++i)
    row.push_back({std::string(fields[i]), number, static_cast<int>(fields.column(i))});
  return {};
}

Result<Table> read_table(std::string_view text, std::string_view name) {
  Table table;
  CsvLine fields;
  for (int number = 1; !text.empty(); ++number) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    std::string_view line = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    if (line.ends_with('\r')) line.remove_suffix(1);
    const std::size_t first = line.find_first_not_of(" \t");
    if (first == std::string_view::npos || line[first] == '#') continue;
    if (!fields.split(line))
      return fail(place_of(name, number, fields.column(fields.size())) + std::string(fields.problem()) +
                  "; the file was not used");
    if (auto taken = take_line(table, fields, number, name); !taken) return tl::unexpected(taken.error());
  }
  return table;
}

/// "2", "2.5", "3:2".
std::optional<double> read_ratio(std::string_view text) {
  const std::size_t colon = text.find(':');
  const auto over = parse_price(text.substr(0, colon), Extra::drop);
  const auto under =
      colon == std::string_view::npos ? Price{kMicrosPerUnit} : parse_price(text.substr(colon + 1), Extra::drop);
  if (!over || !under || over->micros <= 0 || under->micros <= 0) return std::nullopt;
  return static_cast<double>(over->micros) / static_cast<double>(under->micros);
}

Cell cell_of(const std::vector<Cell>& row, int at) {
  if (at >= 0 && at < static_cast<int>(row.size())) return row[static_cast<std::size_t>(at)];
  return {{}, row.empty() ? 0 : row.front().line, 1};
}

std::string ratio_text(double ratio) {
  for (int under = 1; under <= 20; ++under) {
    const double over = ratio * under;
    if (over >= 0.5 && std::abs(over - std::round(over)) < 1e-9)
      return std::to_string(std::llround(over)) + ":" + std::to_string(under);
  }
  char text[32];
  std::snprintf(text, sizeof text, "%g:1", ratio);
  return text;
}

std::string told(const PriceEvent& event) {
  if (event.is_split()) return ratio_text(event.ratio) + " split on " + to_string(event.day);
  return "dividend of " + to_string(event.amount) + " on " + to_string(event.day);
}

void join(std::string& text, const std::string& more) { text += (text.empty() ? "" : ", ") + more; }

/// Does the step from `before` to `after` look like the split, rather than like an ordinary night?
bool shows_split(double before, double after, double ratio) {
  const double step = std::log(before / after);
  return std::abs(step - std::log(ratio)) < std::abs(step);
}

void scale(DailyBar& bar, double price_factor, double volume_factor) {
  for (Price* price : {&bar.open, &bar.high, &bar.low, &bar.close}) {
    price->micros = std::llround(static_cast<double>(price->micros) * price_factor);
  }
  bar.volume *= volume_factor;
}

}  // namespace

Result<PriceEvents> parse_price_events(std::string_view text, std::string_view name) {
  const auto read = read_table(text, name);
  if (!read) return tl::unexpected(read.error());
  const Table& table = *read;
  const int day_at = table.at("date"), symbol_at = table.at("symbol"), ratio_at = table.at("ratio"),
            paid_at = table.at("dividend");
  if (day_at < 0 || symbol_at < 0 || (ratio_at < 0 && paid_at < 0)) {
    return fail(std::string(name) +
                ":1:1: the header must name date,symbol and ratio or dividend; the file was not used");
  }
  PriceEvents events;
  for (const auto& row : table.rows) {
    PriceEvent event;
    const auto day = parse_date(cell_of(row, day_at).text);
    if (!day) return fail(bad(name, cell_of(row, day_at), "date", "a day such as 2026-11-25"));
    event.day = *day;
    if (const Cell cell = cell_of(row, ratio_at); ratio_at >= 0 && !cell.text.empty()) {
      const auto ratio = read_ratio(cell.text);
      if (!ratio) return fail(bad(name, cell, "ratio", "new shares for old ones such as 2:1, 3:2 or 1:10"));
      event.ratio = *ratio;
    }
    if (const Cell cell = cell_of(row, paid_at); paid_at >= 0 && !cell.text.empty()) {
      const auto amount = parse_price(cell.text, Extra::drop);
      if (!amount || amount->micros < 0) return fail(bad(name, cell, "dividend", "an amount per share such as 0.55"));
      event.amount = *amount;
    }
    if (event.is_split() || event.amount.is_set()) events[cell_of(row, symbol_at).text].push_back(event);
  }
  for (auto& [symbol, list] : events) {
    std::stable_sort(list.begin(), list.end(), [](const PriceEvent& a, const PriceEvent& b) { return a.day < b.day; });
  }
  return events;
}

Result<ReportDates> parse_report_dates(std::string_view text, std::string_view name) {
  const auto read = read_table(text, name);
  if (!read) return tl::unexpected(read.error());
  const Table& table = *read;
  const int day_at = table.at("date"), symbol_at = table.at("symbol");
  if (day_at < 0 || symbol_at < 0)
    return fail(std::string(name) + ":1:1: the header must name date,symbol; the file was not used");
  ReportDates reports;
  for (const auto& row : table.rows) {
    const auto day = parse_date(cell_of(row, day_at).text);
    if (!day) return fail(bad(name, cell_of(row, day_at), "date", "a day such as 2026-11-25"));
    reports[cell_of(row, symbol_at).text].push_back(*day);
  }
  for (auto& [symbol, days] : reports) std::sort(days.begin(), days.end());
  return reports;
}

Adjusted adjust_history(std::vector<DailyBar>& bars, const std::vector<PriceEvent>& events, double dividend_least) {
  Adjusted out;
  for (const PriceEvent& event : events) {
    const int before = last_bar_by(bars, event.day - 1);
    if (before < 0 || before + 1 >= static_cast<int>(bars.size())) continue;
    const double close = bars[static_cast<std::size_t>(before)].close.as_double();
    double factor = 1, volume_factor = 1;
    if (event.is_split()) {
      if (!shows_split(close, bars[static_cast<std::size_t>(before) + 1].open.as_double(), event.ratio)) {
        ++out.already;
        continue;
      }
      factor = 1 / event.ratio;
      volume_factor = event.ratio;
    } else {
      const double paid = event.amount.as_double();
      if (100 * paid < dividend_least * close || paid >= close) continue;
      factor = 1 - paid / close;
    }
    for (int i = 0; i <= before; ++i) scale(bars[static_cast<std::size_t>(i)], factor, volume_factor);
    ++out.applied;
    join(out.told, told(event));
  }
  return out;
}

Terms terms_between(const std::vector<PriceEvent>& events, Date then, Date now) {
  Terms out;
  for (const PriceEvent& event : events) {
    if (event.day <= then || event.day > now || !event.is_split()) continue;
    out.price_factor /= event.ratio;
    out.volume_factor *= event.ratio;
    join(out.told, told(event));
  }
  return out;
}

void put_in_terms(std::vector<DailyBar>& bars, const Terms& terms) {
  if (terms.told.empty()) return;
  for (DailyBar& bar : bars) scale(bar, terms.price_factor, terms.volume_factor);
}

void add_split(std::vector<PriceEvent>& events, const SplitOn& split) {
  const auto later = std::find_if(events.begin(), events.end(), [&](const PriceEvent& e) { return e.day >= split.day; });
  const auto known =
      std::find_if(events.begin(), events.end(), [&](const PriceEvent& e) { return e.day == split.day && e.is_split(); });
  if (known == events.end()) events.insert(later, {split.day, split.ratio, {}});
}

std::optional<Date> next_report(const ReportDates& reports, std::string_view symbol, Date from) {
  const auto found = reports.find(symbol);
  if (found == reports.end()) return std::nullopt;
  const auto day = std::lower_bound(found->second.begin(), found->second.end(), from);
  return day == found->second.end() ? std::nullopt : std::optional<Date>(*day);
}

std::string report_warning(const ReportDates& reports, std::string_view symbol, Date from, int days) {
  const auto day = next_report(reports, symbol, from);
  if (!day || *day - from > days) return {};
  const int ahead = *day - from;
  return "reports " + to_string(*day) +
         (ahead == 0   ? ", today"
          : ahead == 1 ? ", in 1 day"
                       : ", in " + std::to_string(ahead) + " days");
}

std::string event_warning(const PriceEvents& events, std::string_view symbol, Date from, int days) {
  std::string out;
  const auto found = events.find(symbol);
  if (found == events.end()) return out;
  for (const PriceEvent& event : found->second) {
    if (event.day > from && event.day - from <= days) join(out, told(event));
  }
  return out;
}

}  // namespace brimwatch
