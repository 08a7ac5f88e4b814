#include "history/events_update.h"

#include <algorithm>
#include <cstdio>
#include <optional>
#include <set>

#include "bars/daily_fields.h"
#include "core/text/csv_line.h"
#include "files/own_files.h"
#include "files/text_file.h"
#include "weekend/events.h"

namespace brimwatch {
namespace {

struct EventColumns {
  int day = -1, symbol = -1, ratio = -1, dividend = -1;
};

std::string letters_of(std::string_view name) {
  std::string out;
  for (const char c : name) {
    const char small = c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
    if (small >= 'a' && small <= 'z') out += small;
  }
  return out;
}

bool is_one_of(const std::string& name, std::initializer_list<std::string_view> names) {
  return std::find(names.begin(), names.end(), name) != names.end();
}

EventColumns columns_of(const CsvLine& header) {
  EventColumns out;
  const auto take = [](int& into, std::size_t i) {
    if (into < 0) into = static_cast<int>(i);
  };
  for (std::size_t i = 0; i < header.size(); ++i) {
    const std::string name = letters_of(header[i]);
    if (is_one_of(name, {"date", "day", "exdate", "executiondate", "effectivedate", "reportdate", "earningsdate", "t"}))
      take(out.day, i);
    if (is_one_of(name, {"symbol", "ticker", "code", "sym"})) take(out.symbol, i);
    if (is_one_of(name, {"ratio", "splitratio", "split", "splitfactor", "splitcoefficient", "stocksplits"}))
      take(out.ratio, i);
    if (is_one_of(name, {"dividend", "amount", "cashamount", "dividendamount"})) take(out.dividend, i);
  }
  return out;
}

/// One row as our file has it; nothing, and why, where it lacks something.
std::optional<std::string> row_of(const CsvLine& fields, const EventColumns& columns, EventsKind kind,
                                  const std::string& symbol, std::string& why) {
  const auto day = read_daily_date(fields.at(columns.day), DayOrder::year_first);
  const std::string name(columns.symbol >= 0 ? fields.at(columns.symbol) : symbol);
  if (!day)
    why = "date: found \"" + std::string(fields.at(columns.day).substr(0, 40)) + "\", expected a day such as 2026-11-25";
  if (name.empty()) why = "symbol: found none";
  if (!day || name.empty()) return std::nullopt;
  std::string row = to_string(*day) + "," + name;
  if (kind == EventsKind::reports) return row;
  const auto ratio = read_split(fields.at(columns.ratio));
  const auto paid = read_plain_number(fields.at(columns.dividend));
  if (!ratio && !(paid && *paid > 0)) {
    why = "ratio: found \"" + std::string(fields.at(columns.ratio).substr(0, 40)) + "\", expected one such as 2:1";
    return std::nullopt;
  }
  char numbers[64];
  std::snprintf(numbers, sizeof numbers, ",%.10g,", ratio.value_or(1));
  return row + numbers + (paid && *paid > 0 ? std::string(fields.at(columns.dividend)) : "");
}

/// "2026-11-25,KLVN": what tells one event from another.
std::string key_of(std::string_view row) { return std::string(row.substr(0, row.find(',', row.find(',') + 1))); }

const char* header_of(EventsKind kind) {
  return kind == EventsKind::splits ? "date,symbol,ratio,dividend" : "date,symbol";
}

/// Each event that the file has, in our writing.
Result<std::set<std::string>> known_in(const std::string& text, const std::string& file, EventsKind kind) {
  std::set<std::string> out;
  if (kind == EventsKind::splits) {
    const auto events = parse_price_events(text, file);
    if (!events) return tl::unexpected(events.error());
    for (const auto& [symbol, list] : *events)
      for (const PriceEvent& event : list) out.insert(to_string(event.day) + "," + symbol);
  } else {
    const auto reports = parse_report_dates(text, file);
    if (!reports) return tl::unexpected(reports.error());
    for (const auto& [symbol, days] : *reports)
      for (const Date day : days) out.insert(to_string(day) + "," + symbol);
  }
  return out;
}

void read_page(const std::string& page, EventsKind kind, const std::string& symbol, std::set<std::string>& rows,
               EventsTaken& out) {
  std::string_view rest = page;
  CsvLine fields;
  std::optional<EventColumns> columns;
  char delimiter = ',';
  while (!rest.empty()) {
    const std::size_t end = std::min(rest.find('\n'), rest.size());
    const std::string_view line = rest.substr(0, end);
    rest.remove_prefix(std::min(end + 1, rest.size()));
    if (line.find_first_not_of(" \t\r") == std::string_view::npos) continue;
    if (!columns) delimiter = delimiter_of(line);
    if (!fields.split(line, delimiter)) continue;
    if (!columns) {
      columns = columns_of(fields);
      continue;
    }
    std::string why;
    if (auto row = row_of(fields, *columns, kind, symbol, why)) rows.insert(std::move(*row));
    else if (out.passed_over++ == 0) out.first_problem = why;
  }
}

/// The columns that the file has already, or ours where it is new.
Result<std::string> begin_of(const std::string& text, EventsKind kind) {
  if (text.empty()) return std::string(header_of(kind)) + "\n";
  return text.ends_with('\n') ? text : text + "\n";
}

/// A row of ours under the header that stands there.
std::string under_header(const std::string& row, const std::string& text) {
  std::string_view rest = text;
  CsvLine header, cells;
  while (!rest.empty() && (rest.front() == '#' || rest.front() == '\n'))
    rest.remove_prefix(std::min(rest.find('\n') + 1, rest.size()));
  (void)header.split(rest.substr(0, rest.find('\n')));
  (void)cells.split(row);
  const EventColumns at = columns_of(header);
  std::string out;
  for (int i = 0; i < static_cast<int>(header.size()); ++i) {
    if (i > 0) out += ',';
    out += i == at.day        ? cells.at(0)
           : i == at.symbol   ? cells.at(1)
           : i == at.ratio    ? cells.at(2)
           : i == at.dividend ? cells.at(3)
                              : "";
  }
  return out;
}

}  // namespace

Result<EventsTaken> take_events(const std::string& file, EventsKind kind, const std::vector<std::string>& pages,
                                const std::string& symbol) {
  EventsTaken out;
  std::string text;
  std::set<std::string> known;
  if (is_there(file)) {
    auto read = read_file(file);
    if (!read) return tl::unexpected(read.error());
    text = std::move(*read);
    auto have = known_in(text, file, kind);
    if (!have) return tl::unexpected(have.error());
    known = std::move(*have);
  }
  std::set<std::string> rows;
  for (const std::string& page : pages) read_page(page, kind, symbol, rows, out);
  auto begun = begin_of(text, kind);
  for (const std::string& row : rows) {
    if (!known.insert(key_of(row)).second) continue;
    *begun += under_header(row, *begun) + "\n";
    ++out.added;
  }
  if (out.added == 0) return out;
  if (auto sound = known_in(*begun, file, kind); !sound) return tl::unexpected(sound.error());
  if (auto written = replace_file(file, *begun, 0644); !written) return tl::unexpected(written.error());
  return out;
}

}  // namespace brimwatch
