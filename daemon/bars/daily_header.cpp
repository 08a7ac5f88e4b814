#include "bars/daily_header.h"

#include <algorithm>

#include "core/text/csv_line.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr std::array<const char*, kDailyColumns> kNames = {"date",   "open",        "high",   "low", "close",
                                                           "volume", "split ratio", "symbol", "from"};
constexpr int kLinesLookedAt = 400;  // for what only the rows tell

/// Names that files have, without blanks, lines, brackets and a number in front; of several in one header the first here.
struct CommonName {
  DailyColumn column;
  std::string_view name;
};
constexpr CommonName kCommon[] = {
    {kDate, "date"},
    {kDate, "day"},
    {kDate, "datetime"},
    {kDate, "timestamp"},
    {kDate, "time"},
    {kDate, "tradedate"},
    {kDate, "tradingday"},
    {kDate, "sessiondate"},
    {kDate, "t"},
    {kDate, "dt"},
    {kOpen, "open"},
    {kOpen, "openprice"},
    {kOpen, "openingprice"},
    {kOpen, "first"},
    {kOpen, "o"},
    {kHigh, "high"},
    {kHigh, "highprice"},
    {kHigh, "dayhigh"},
    {kHigh, "max"},
    {kHigh, "h"},
    {kLow, "low"},
    {kLow, "lowprice"},
    {kLow, "daylow"},
    {kLow, "min"},
    {kLow, "l"},
    {kClose, "close"},
    {kClose, "closeprice"},
    {kClose, "closingprice"},
    {kClose, "closelast"},
    {kClose, "last"},
    {kClose, "lastprice"},
    {kClose, "settle"},
    {kClose, "price"},
    {kClose, "c"},
    {kVolume, "volume"},
    {kVolume, "vol"},
    {kVolume, "tradevolume"},
    {kVolume, "totalvolume"},
    {kVolume, "sharestraded"},
    {kVolume, "shares"},
    {kVolume, "v"},
    {kSplit, "splitratio"},
    {kSplit, "splitcoefficient"},
    {kSplit, "splitfactor"},
    {kSplit, "stocksplits"},
    {kSplit, "stocksplit"},
    {kSplit, "splits"},
    {kSplit, "split"},
    {kSymbol, "symbol"},
    {kSymbol, "ticker"},
    {kSymbol, "actsymbol"},
    {kSymbol, "instrument"},
    {kSymbol, "code"},
    {kSymbol, "sym"},
    {kFrom, "from"},
};

/// "1. Adj_Close" is "adjclose", "<TICKER>" is "ticker", "Close/Last" is "closelast".
std::string plain_name(std::string_view text) {
  std::string out;
  for (const char c : text) {
    const char small = c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
    const bool kept = (small >= 'a' && small <= 'z') || static_cast<unsigned char>(small) >= 0x80 ||
                      (small >= '0' && small <= '9' && !out.empty());
    if (kept) out += small;
  }
  return out;
}

/// How well a name fits; the smaller the better. -1: it is none of ours.
int rank_of(const std::string& name, DailyColumn& column) {
  for (int i = 0; i < static_cast<int>(std::size(kCommon)); ++i) {
    if (kCommon[i].name != name) continue;
    column = kCommon[i].column;
    return i;
  }
  return -1;
}

std::string place_in(std::string_view name, std::size_t column) {
  return std::string(name) + ":1:" + std::to_string(column) + ": ";
}

void place_columns(const CsvLine& fields, DailyLayout& layout) {
  std::array<int, kDailyColumns> ranks{};
  for (std::size_t i = 0; i < fields.size(); ++i) {
    DailyColumn column = kDailyColumns;
    const int rank = rank_of(plain_name(fields[i]), column);
    if (rank < 0 || (layout.has(column) && ranks[column] <= rank)) continue;
    layout.at[column] = static_cast<int>(i);
    ranks[column] = rank;
  }
  for (int i = 0; i < kDailyColumns; ++i) {
    const auto column = static_cast<DailyColumn>(i);
    if (!layout.has(column)) continue;
    const std::string_view said = fields.at(layout.at[column]);
    if (plain_name(said) != plain_name(kNames[column]))
      layout.choices.push_back("\"" + std::string(said.substr(0, 40)) + "\" is " + kNames[column]);
  }
  for (const std::string_view field : fields) {
    const std::string plain = plain_name(field);
    if (plain.starts_with("adj")) {
      layout.choices.push_back("\"" + std::string(field.substr(0, 40)) +
                               "\" is passed over: a pivot is a price that trades");
      break;
    }
  }
}

/// Calls look(fields) for the first lines of the rows.
template <typename Look>
void look_at_rows(std::string_view rest, char delimiter, Look look) {
  CsvLine fields;
  for (int line = 0; line < kLinesLookedAt && !rest.empty(); ++line) {
    const std::size_t end = std::min(rest.find('\n'), rest.size());
    if (fields.split(rest.substr(0, end), delimiter)) look(fields);
    rest.remove_prefix(std::min(end + 1, rest.size()));
  }
}

/// Where a comma cannot part columns it may stand in a number: a price with one comma, no point, and not three digits
/// behind it says which it is.
void find_decimal_comma(std::string_view rest, DailyLayout& layout) {
  if (layout.delimiter == ',') return;
  bool commas = false, points = false;
  look_at_rows(rest, layout.delimiter, [&](const CsvLine& fields) {
    for (const DailyColumn column : {kOpen, kHigh, kLow, kClose}) {
      const std::string_view price = fields.at(layout.at[column]);
      const std::size_t comma = price.rfind(',');
      points = points || (price.find('.') != std::string_view::npos && comma == std::string_view::npos);
      commas = commas || (comma != std::string_view::npos && price.size() - comma - 1 != 3);
    }
  });
  layout.decimal_comma = commas && !points;
  if (layout.decimal_comma) layout.choices.emplace_back("48,35 is read as 48.35");
}

/// First and second number of "11/25/2026" or "25.11.2026"; false for other forms.
bool first_two(std::string_view day, int& first, int& second) {
  const std::size_t one = day.find_first_of("/.-");
  if (one == std::string_view::npos || one == 0 || one > 2) return false;
  const std::size_t two = day.find(day[one], one + 1);
  if (two == std::string_view::npos || two - one - 1 > 2 || two - one < 2) return false;
  const auto digits = [](std::string_view text) {
    int value = 0;
    for (const char c : text) value = c >= '0' && c <= '9' && value < 1000 ? value * 10 + (c - '0') : 1000;
    return value;
  };
  first = digits(day.substr(0, one));
  second = digits(day.substr(one + 1, two - one - 1));
  return first < 1000 && second < 1000;
}

/// A month is never above 12: some row of a month tells which is which.
Status find_day_order(std::string_view rest, std::string_view name, DailyLayout& layout) {
  bool found = false, over_first = false, over_second = false;
  std::string example;
  look_at_rows(rest, layout.delimiter, [&](const CsvLine& fields) {
    int first = 0, second = 0;
    if (!first_two(fields.at(layout.at[kDate]), first, second)) return;
    if (!std::exchange(found, true)) example = fields.at(layout.at[kDate]);
    over_first = over_first || first > 12;
    over_second = over_second || second > 12;
  });
  if (!found) return {};
  if (over_first == over_second)
    return fail(
        std::string(name) + ":2:1: date: found \"" + example.substr(0, 40) +
        "\", in which nothing tells the month from the day, expected days such as 2026-11-25; the file was not used");
  layout.order = over_first ? DayOrder::day_first : DayOrder::month_first;
  layout.choices.push_back(std::string("dates have the ") + (over_first ? "day" : "month") + " first");
  return {};
}

Status check_needed(const DailyLayout& layout, std::string_view header, std::string_view name, DailyRows rows) {
  constexpr std::size_t kShown = 60;
  const bool all_prices = layout.has_any_price() && rows == DailyRows::readable;
  for (const DailyColumn column : {kDate, kOpen, kHigh, kLow, kClose, kVolume}) {
    if (layout.has(column) || (!all_prices && column != kDate && column != kVolume)) continue;
    return fail(std::string(name) + ":1:1: no column \"" + kNames[column] + "\": found the header \"" +
                clean_line(header, kShown) +
                "\", expected date,open,high,low,close,volume (or date,volume) in any order; the file was not used");
  }
  return {};
}

}  // namespace

const char* name_of(DailyColumn column) { return kNames[column]; }

Result<DailyLayout> read_daily_header(std::string_view line, std::string_view rest, std::string_view name,
                                      DailyRows rows) {
  if (line.starts_with("\xEF\xBB\xBF")) line.remove_prefix(3);
  if (line.starts_with("\xFF\xFE") || line.starts_with("\xFE\xFF"))
    return fail(place_in(name, 1) + "found UTF-16 text, expected UTF-8 (save it as CSV UTF-8); the file was not used");
  DailyLayout layout;
  layout.at.fill(-1);
  layout.delimiter = delimiter_of(line);
  CsvLine fields;
  if (!fields.split(line, layout.delimiter))
    return fail(place_in(name, fields.column(fields.size())) + std::string(fields.problem()) + "; the file was not used");
  layout.width = fields.width();
  place_columns(fields, layout);
  if (auto enough = check_needed(layout, line, name, rows); !enough) return tl::unexpected(enough.error());
  if (layout.delimiter != ',')
    layout.choices.insert(layout.choices.begin(),
                          layout.delimiter == ';' ? "semicolons part the columns" : "tabs part the columns");
  find_decimal_comma(rest, layout);
  if (auto order = find_day_order(rest, name, layout); !order) return tl::unexpected(order.error());
  return layout;
}

}  // namespace brimwatch
